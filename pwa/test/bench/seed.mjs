// A maker of many animals, as a file of changes: so many projects, each with ten parts, two sittings and so many readings.

const parts = ['head length', 'whole length', 'body length', 'body depth', 'foreleg', 'hind leg', 'tail', 'head width', 'neck width', 'body width'];
const alphabet = 'abcdefghijklmnopqrstuvwxyz234567';

/** Sixteen letters that tell one number from another. @param {number} n */
function id(n) {
  let text = '';
  for (let i = 0; i < 16; i++) { text = alphabet[n % 32] + text; n = Math.floor(n / 32); }
  return text;
}

/** @param {number} projects  @param {number} readings  each */
export function seed(projects, readings) {
  const device = id(32 ** 10 + 7);
  let counter = 0;
  let ids = 0;
  /** @type {object[]} */
  const changes = [];
  /** @param {string} kind  @param {string} of  @param {Record<string, unknown>} fields */
  const made = (kind, of, fields) => { for (const [field, value] of Object.entries(fields)) changes.push({ kind, id: of, field, value, stamp: [++counter, device], base: null }); };
  const next = () => id(32 ** 9 + ids++);
  for (let p = 0; p < projects; p++) {
    const project = next();
    const own = parts.map(() => next());
    made('project', project, { name: `Animal ${String(p + 1).padStart(4, '0')}`, animal: 'otter', made: '2026-03-14', unit: own[0] });
    own.forEach((part, i) => made('part', part, { project, name: parts[i], axis: i < 7 && i !== 3 ? 'length' : 'width', order: i + 1 }));
    const sittings = [next(), next()];
    sittings.forEach((sitting, i) => made('sitting', sitting, { project, fact: { of: 'subject', method: 'sight', unit: own[0], view: i ? 'front' : 'side', denominator: 4, arm_mm: 600, made: '2026-03-14T10:00' } }));
    for (let r = 0; r < readings; r++) {
      const mark = r < 2;
      const part = mark ? 0 : 1 + (r % 9);
      made('reading', next(), { project, fact: { sitting: sittings[r % 2], part: own[part], place: null, value: mark ? 1 : 1 + part / 2, denominator: mark ? null : 4, typed: null } });
    }
  }
  return { format: 'needlesight-changes', version: 1, made: '2026-03-14T10:00', changes };
}
