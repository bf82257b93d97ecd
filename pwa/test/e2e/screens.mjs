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
  return {
    projects: '#/', new: '#/new', project: `#/project/${otter}`, 'project with places': `#/project/${owl}`, parts: `#/parts/${otter}`,
    count: `#/count?project=${otter}&of=subject&unit=${seen.unit}&part=${seen.parts[3].id}`, 'count, choosing': `#/count?project=${otter}&of=${piece.id}`, 'count, loose': '#/count',
    marks: `#/marks?project=${otter}&of=subject`, 'marks, loose': '#/marks', ruler: `#/ruler?project=${otter}&of=${piece.id}`, 'ruler, loose': '#/ruler', ratio: '#/ratio', 'ratio of an animal': `#/ratio?project=${otter}`,
    verdict: `#/piece/${otter}/${piece.id}`, 'verdict with places': `#/piece/${owl}/${owlPiece.id}`, checks: `#/checks/${otter}/${piece.id}`,
    readings: `#/readings/${otter}`, 'readings of a piece': `#/readings/${otter}?of=${piece.id}`, loose: '#/loose', pictures: `#/pictures/${otter}`, 'pictures of a piece': `#/pictures/${otter}?of=${piece.id}`, 'no pictures': `#/pictures/${away}`, print: `#/print/${otter}`, glass: `#/glass/${otter}`, history: `#/history/part/${seen.parts[0].id}`, 'home, not paired': '#/home', pair: '#/pair', bin: '#/bin', files: '#/files', settings: '#/settings', care: '#/care', notices: '#/notices',
  };
}

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
