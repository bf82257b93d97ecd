// The look asked for in the settings, known before the store is.

/** @param {string} theme light, dark, or system */
export function wear(theme) {
  if (theme === 'light' || theme === 'dark') document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
  try { localStorage.setItem('theme', theme); } catch { /* a browser that keeps nothing still shows the app */ }
}

try { wear(localStorage.getItem('theme') ?? 'system'); } catch { /* as above */ }
