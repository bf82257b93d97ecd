// The styles of the screens of forms and wool come with those screens, so that the first count waits for less.

/** Settled once the styles are there, or cannot be had: a screen waits for it in its load, so that nothing is seen unstyled. @type {Promise<unknown>} */
export const styled = new Promise((done) => {
  const link = document.createElement('link');
  link.rel = 'stylesheet';
  link.href = new URL('./forms.css', import.meta.url).href;
  link.onload = link.onerror = done;
  document.head.append(link);
});
