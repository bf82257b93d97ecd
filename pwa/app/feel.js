// What the thumb feels and the ear hears: a tick for a unit, another for a fraction, another for undo.

/** @typedef {'unit' | 'fraction' | 'undo' | 'keep' | 'refuse'} Tick */

/** Vibration patterns, ms. @type {Record<Tick, number[]>} */
const shakes = { unit: [28], fraction: [9], undo: [14, 50, 14], keep: [18, 40, 46], refuse: [70] };
/** Tones: [from Hz, to Hz, ms, loudness]. @type {Record<Tick, [number, number, number, number]>} */
const tones = { unit: [880, 880, 55, .5], fraction: [1500, 1500, 22, .28], undo: [520, 260, 110, .4], keep: [660, 990, 130, .4], refuse: [180, 160, 120, .4] };

/** @type {AudioContext | null} */
let audio = null;

/** @param {Tick} kind */
function sound(kind) {
  audio ??= new AudioContext();
  if (audio.state === 'suspended') audio.resume().catch(() => {});
  const [from, to, ms, loud] = tones[kind];
  const now = audio.currentTime;
  const tone = audio.createOscillator();
  const level = audio.createGain();
  tone.type = 'triangle';
  tone.frequency.setValueAtTime(from, now);
  tone.frequency.exponentialRampToValueAtTime(to, now + ms / 1000);
  level.gain.setValueAtTime(loud, now);
  level.gain.exponentialRampToValueAtTime(.001, now + ms / 1000);
  tone.connect(level).connect(audio.destination);
  tone.start(now);
  tone.stop(now + ms / 1000);
}

/** @param {Tick} kind  @param {{sound: boolean, vibration: boolean}} want */
export function tick(kind, want) {
  if (navigator.userActivation && !navigator.userActivation.hasBeenActive) return; // browsers refuse both until the page was touched
  try {
    if (want.vibration) navigator.vibrate?.(shakes[kind]);
    if (want.sound) sound(kind);
  } catch { /* a phone without either still shows the count */ }
}

/** The voices of the browser; some lists are empty until they were asked for once. */
const voices = () => globalThis.speechSynthesis?.getVoices() ?? [];
voices();

/** Says a text aloud with a voice that is on the phone: others send it away to be spoken. @param {string} text @returns {boolean} whether there is such a voice */
export function aloud(text) {
  const voice = voices().find((one) => one.localService && one.lang.startsWith('en'));
  if (!voice) return false;
  speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(text);
  words.voice = voice;
  words.lang = voice.lang;
  speechSynthesis.speak(words);
  return true;
}
