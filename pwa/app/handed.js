// A text is handed to another app, or laid on the clipboard where none takes it.

/** @param {string} title  @param {string} text @returns {Promise<'shared' | 'copied' | 'left'>} left: she thought better of it */
export async function handOver(title, text) {
  if (navigator.share) {
    try { await navigator.share({ title, text }); return 'shared'; } catch (error) { if (/** @type {{name?: string}} */ (error).name === 'AbortError') return 'left'; }
  }
  return copy(text);
}

/** @param {string} text @returns {Promise<'copied'>} */
export async function copy(text) {
  try { await navigator.clipboard.writeText(text); } catch { copyOld(text); }
  return 'copied';
}

/** Where the clipboard is only had by a selection. @param {string} text */
function copyOld(text) {
  const area = Object.assign(document.createElement('textarea'), { value: text, readOnly: true, className: 'unseen' });
  (document.querySelector('dialog:modal') ?? document.body).append(area);
  area.select();
  const done = document.execCommand('copy');
  area.remove();
  if (!done) throw Object.assign(new Error('no clipboard'), { code: 'not-copied' });
}
