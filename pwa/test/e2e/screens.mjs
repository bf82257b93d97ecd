// Every screen there is, with something on it, and how one is opened.
import * as app from './app.mjs';

/** What there is to see once something has been entered. @param {import('./person.mjs').Person} person */
export async function filled(person) {
  const ask = (/** @type {string} */ method, /** @type {unknown} */ params) => app.ask(person, method, params);
  const { otter, owl } = await ask('addDemo', {});
  await ask('setting', { name: 'cautioned', value: true });
  const seen = await ask('view', { name: 'project', id: otter });
  const [piece] = seen.pieces;
  const owlPiece = (await ask('view', { name: 'project', id: owl })).pieces[0];
  const { id: away } = await ask('newProject', { name: 'Hare', animal: 'hare' });
  await ask('bin', { kind: 'project', id: away, binned: true });
  const { id: part } = await ask('loosePart', { name: 'ear' });
  const { id: unit } = await ask('loosePart', { name: 'head' });
  const { id: sitting } = await ask('startSitting', { project: null, method: 'sight', unit, denominator: 4 });
  await ask('keepReading', { sitting, part: unit, value: 1 });
  await ask('keepReading', { sitting, part, value: 1.25, denominator: 4 });
  const { scale_used: scale, tolerance } = await ask('view', { name: 'verdict', project: otter, piece: piece.id });
  await ask('keepCheck', { piece: piece.id, scale, tolerance });
  const { ids: [tail, bare] } = await ask('addForms', { project: otter, forms: [{ name: 'tail', shape: 'cone', sizes: { length: { mm: 62 }, width: { mm: 17 } }, stands: 'tail' }, { name: 'ear', shape: 'ear', sizes: {} }] });
  await ask('tick', { project: otter, piece: piece.id, form: tail, stage: 'roll', done: true });
  const { pictures } = await ask('view', { name: 'pictures', project: otter });
  const [side, front] = ['side', 'front'].map((view) => pictures.find((/** @type {any} */ one) => one.view === view).id);
  const { outlines: [outline] } = await ask('view', { name: 'photo', id: side });
  const wool = await woolPhoto(person, { project: otter, of: piece.id, view: 'side', name: '' });
  const { id: core } = await ask('addWool', { name: 'Mountain sheep', use: 'core', colour: '#d9d2c3', stock_g: 1, pack_g: 50, price: 6.5, price_g: 100 });
  await ask('set', { kind: 'form', id: tail, field: 'core', value: core });
  await ask('weigh', { form: tail, grams: 0.8, sizes: { length: 60, width: 17 }, start_mm: 80, finish_mm: 60 });
  await ask('addGroup', { project: otter, name: 'Saturday', makers: 8, out: 72, back: 70 });
  return {
    projects: '#/', new: '#/new', project: `#/project/${otter}`, 'project with places': `#/project/${owl}`, parts: `#/parts/${otter}`,
    count: `#/count?project=${otter}&of=subject&unit=${seen.unit}&part=${seen.parts[3].id}`, 'count, choosing': `#/count?project=${otter}&of=${piece.id}`, 'count, loose': '#/count',
    marks: `#/marks?project=${otter}&of=subject`, 'marks, loose': '#/marks', ruler: `#/ruler?project=${otter}&of=${piece.id}`, 'ruler, loose': '#/ruler', ratio: '#/ratio', 'ratio of an animal': `#/ratio?project=${otter}`,
    verdict: `#/piece/${otter}/${piece.id}`, 'verdict with places': `#/piece/${owl}/${owlPiece.id}`, checks: `#/checks/${otter}/${piece.id}`,
    readings: `#/readings/${otter}`, 'readings of a piece': `#/readings/${otter}?of=${piece.id}`, loose: '#/loose', pictures: `#/pictures/${otter}`, 'pictures of a piece': `#/pictures/${otter}?of=${piece.id}`, 'no pictures': `#/pictures/${away}`, photo: `#/photo/${side}`, 'photo without a scale': `#/photo/${front}`, 'photo of a piece': `#/photo/${wool}`, plane: `#/plane/${side}`, outline: `#/outline/${side}/${outline.id}`, 'outline, none yet': `#/outline/${front}`, overlay: `#/overlay/${wool}`, 'overlay, nothing to lay over': `#/overlay/${side}`,
    forms: `#/forms/${otter}`, 'forms, none yet': `#/forms/${owl}`, form: `#/form/${otter}/${tail}`, 'form, where it lies': `#/form/${otter}/${tail}?show=place`, 'form, sizes missing': `#/form/${otter}/${bare}`, wire: `#/wire/${otter}`, 'wire, none yet': `#/wire/${owl}`,
    wool: `#/wool/${otter}`, 'wool, no forms': `#/wool/${owl}`, bag: '#/bag', weigh: `#/weigh/${otter}/${tail}`, hand: '#/hand', class: `#/class/${otter}`, 'class, none yet': `#/class/${owl}`,
    print: `#/print/${otter}`, glass: `#/glass/${otter}`, lay: `#/lay/${otter}/${tail}`, 'lay, a size missing': `#/lay/${otter}/${bare}`, order: `#/order/${otter}?piece=${piece.id}`, 'order, no forms': `#/order/${owl}`, 'print of a form': `#/print/${otter}?form=${tail}`, history: `#/history/part/${seen.parts[0].id}`, 'home, not paired': '#/home', pair: '#/pair', bin: '#/bin', files: '#/files', settings: '#/settings', care: '#/care', notices: '#/notices',
  };
}

/** A photo of a piece, as plain as can be: wool of one colour on a cloth of another. @param {import('./person.mjs').Person} person  @param {object} what @returns {Promise<string>} */
const woolPhoto = async (person, what) => person.later(`const [module, what] = args; const { ask } = await import(module);
  const canvas = Object.assign(document.createElement('canvas'), { width: 900, height: 600 }); const ctx = canvas.getContext('2d');
  ctx.fillStyle = '#c9c4b8'; ctx.fillRect(0, 0, 900, 600); ctx.fillStyle = '#6b4530'; ctx.beginPath(); ctx.ellipse(450, 300, 300, 90, 0, 0, 7); ctx.fill();
  return (await ask('addPicture', { ...what, file: await new Promise((done) => canvas.toBlob(done, 'image/png')) })).id`, await app.bench(person), what);

/** Opens a screen, and waits until it stands. @param {import('./person.mjs').Person} person  @param {string} hash */
export async function show(person, hash) {
  await person.to(hash);
  await person.later(`let last = '';
    for (let same = 0, n = 0; same < 3 && n < 200; n++) {
      await new Promise(requestAnimationFrame);
      const now = document.title + document.getElementById('app').innerHTML;
      same = now === last && location.hash === args[0] && document.querySelector('main h1') ? same + 1 : 0;
      last = now;
    }`, hash);
}
