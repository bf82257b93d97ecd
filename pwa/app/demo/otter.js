// The demo's otter: invented figures for an animal of likely proportions, and a first piece whose tail is too short and whose neck is too thick.
const e = (/** @type {number} */ whole, /** @type {number} */ eighths = 0) => whole + eighths / 8;

/** @type {import('./demo.js').Plan} */
export const otter = {
  name: 'Otter', animal: 'otter', unit: 'head length', size: { part: 'whole length', mm: 180, typed: '18 cm' },
  parts: [
    ['head length', 'length'], ['whole length', 'length'], ['body length', 'length'], ['tail', 'length'], ['foreleg', 'length'], ['hind leg', 'length'],
    ['body depth', 'width'], ['head width', 'width'], ['neck width', 'width'], ['body width', 'width'],
  ],
  places: [],
  sittings: [
    { of: 'subject', method: 'sight', unit: 'head length', view: 'side', denominator: 8, made: '2026-03-14T10:05', readings: [
      ['whole length', e(7, 4)], ['body length', e(3, 2)], ['tail', e(2, 6)], ['foreleg', e(0, 7)], ['hind leg', e(1)], ['body depth', e(1)]] },
    { of: 'subject', method: 'sight', unit: 'head length', view: 'side', denominator: 8, made: '2026-03-14T10:20', readings: [
      ['whole length', e(7, 4)], ['body length', e(3, 1)], ['tail', e(2, 6)], ['foreleg', e(0, 7)], ['hind leg', e(1, 1)], ['body depth', e(1)]] },
    { of: 'subject', method: 'sight', unit: 'head length', view: 'top', denominator: 8, made: '2026-03-14T10:40', readings: [
      ['head width', e(0, 6)], ['body width', e(1)], ['head width', e(0, 6)], ['body width', e(1, 1)]] },
    { of: 'subject', method: 'sight', unit: 'head width', view: 'front', denominator: 8, made: '2026-03-14T11:00', readings: [
      ['neck width', e(0, 7)], ['body width', e(1, 3)]] },
    { of: 'subject', method: 'sight', unit: 'head width', view: 'front', denominator: 8, made: '2026-03-14T11:10', readings: [
      ['neck width', e(0, 7)], ['body width', e(1, 3)]] },
    { of: 'First otter', method: 'ruler', unit: null, view: null, denominator: null, made: '2026-03-21T15:30', readings: [
      ['head length', 24], ['body length', 77], ['tail', 51], ['foreleg', 21], ['hind leg', 25], ['body depth', 24], ['head width', 18], ['neck width', 20.5], ['body width', 25]] },
  ],
  pictures: [
    { picture: 'otter-side', view: 'side', made: '2026-03-14T09:30', pins: ['head length', 'whole length', 'body length', 'tail', 'foreleg', 'hind leg', 'body depth'] },
    { picture: 'otter-front', view: 'front', made: '2026-03-14T09:40', pins: ['head width', 'neck width', 'body width'] },
  ],
  pieces: [['First otter', '2026-03-21']], made: '2026-03-14',
};
