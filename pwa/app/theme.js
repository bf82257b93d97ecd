// The look asked for in the settings, known before the store is.

/** The ground of each look, as in app.css, for the browser's own bar. @type {Record<string, string>} */
const grounds = { light: '#e4e8e6', dark: '#111819' };

/** @param {string} theme light, dark, or system */
export function wear(theme) {
  if (theme in grounds) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
  for (const meta of /** @type {NodeListOf<HTMLMetaElement>} */ (document.querySelectorAll('meta[name="theme-color"]'))) {
    meta.content = grounds[theme] ?? grounds[meta.media.includes('dark') ? 'dark' : 'light'];
  }
  try { localStorage.setItem('theme', theme); } catch { /* a browser that keeps nothing still shows the app */ }
}

try { wear(localStorage.getItem('theme') ?? 'system'); } catch { /* as above */ }
