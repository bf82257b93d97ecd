// The demo's barn owl: where eyes and beak sit on the face, and a piece counted like the bird whose eyes sit too high.
const e = (/** @type {number} */ whole, /** @type {number} */ eighths = 0) => whole + eighths / 8;

/** @type {import('./demo.js').Plan} */
export const owl = {
  name: 'Barn owl', animal: 'barn owl', unit: 'head height', size: { part: 'body height', mm: 140, typed: '14 cm' },
  parts: [
    ['body height', 'length'], ['head height', 'length'], ['wing', 'length'], ['face height', 'length'],
    ['face width', 'width'], ['body width', 'width'], ['eye spacing', 'width'],
  ],
  places: [['eyes', 'face height', 'top of the face'], ['beak tip', 'face height', 'top of the face']],
  sittings: [
    { of: 'subject', method: 'sight', unit: 'head height', view: 'side', denominator: 8, made: '2026-03-15T09:10', readings: [
      ['body height', e(3, 6)], ['wing', e(2, 7)]] },
    { of: 'subject', method: 'sight', unit: 'head height', view: 'side', denominator: 8, made: '2026-03-15T09:20', readings: [
      ['body height', e(3, 6)], ['wing', e(2, 6)]] },
    { of: 'subject', method: 'sight', unit: 'eye spacing', view: 'front', denominator: 8, made: '2026-03-15T09:30', readings: [
      ['body height', e(11, 2)], ['head height', e(3)], ['face height', e(2, 4)], ['face width', e(2, 3)], ['body width', e(3, 6)], ['eyes', e(1, 1)], ['beak tip', e(1, 7)]] },
    { of: 'subject', method: 'sight', unit: 'eye spacing', view: 'front', denominator: 8, made: '2026-03-15T09:45', readings: [
      ['body height', e(11, 3)], ['head height', e(3)], ['face height', e(2, 4)], ['face width', e(2, 3)], ['body width', e(3, 7)], ['eyes', e(1, 1)], ['beak tip', e(1, 7)]] },
    { of: 'First owl', method: 'sight', unit: 'head height', view: 'side', denominator: 8, made: '2026-03-22T14:00', readings: [
      ['body height', e(3, 6)], ['wing', e(2, 7)]] },
    { of: 'First owl', method: 'sight', unit: 'eye spacing', view: 'front', denominator: 8, made: '2026-03-22T14:10', readings: [
      ['body height', e(11, 2)], ['head height', e(3)], ['face height', e(2, 4)], ['face width', e(2, 3)], ['body width', e(3, 6)], ['eyes', e(0, 6)], ['beak tip', e(1, 7)]] },
    { of: 'First owl', method: 'sight', unit: 'eye spacing', view: 'front', denominator: 8, made: '2026-03-22T14:20', readings: [
      ['body height', e(11, 2)], ['head height', e(3)], ['face height', e(2, 4)], ['face width', e(2, 3)], ['body width', e(3, 6)], ['eyes', e(0, 6)], ['beak tip', e(1, 7)]] },
  ],
  pictures: [
    { picture: 'owl-front', view: 'front', made: '2026-03-15T09:00', pins: ['body height', 'head height', 'face height', 'face width', 'body width', 'eye spacing'] },
    { picture: 'owl-side', view: 'side', made: '2026-03-15T09:05', pins: ['body height', 'wing'] },
  ],
  pieces: [['First owl', '2026-03-22']], made: '2026-03-15',
};
