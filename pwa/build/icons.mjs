// Makes the PNG icons of the app from its one drawing, app/icons/icon.svg, with a headless Chromium.
// Run again after the drawing was changed:  node pwa/build/icons.mjs   (CHROMIUM names another browser)
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const icons = new URL('../app/icons/', import.meta.url);
const drawing = readFileSync(new URL('icon.svg', icons), 'utf8');

// A phone that cuts its own shape needs the ground to run to the edges; a maskable icon keeps the drawing within the inner 80 %.
const bleeding = drawing.replace('rx="112"', '');
const maskable = bleeding.replace(/(<rect id="ground"[^>]*>)([\s\S]*)(<\/svg>)/, '$1<g transform="translate(256 256) scale(.77) translate(-256 -256)">$2</g>$3');

const wanted = [
  { name: 'icon-180.png', size: 180, svg: bleeding },
  { name: 'icon-192.png', size: 192, svg: drawing },
  { name: 'icon-512.png', size: 512, svg: drawing },
  { name: 'maskable-512.png', size: 512, svg: maskable },
];

const page = `<!doctype html><body><script>
(async () => {
  const out = [];
  for (const { size, svg } of ${JSON.stringify(wanted).replaceAll('</', '<\\/').replaceAll('<!--', '<\\!--')}) {
    const image = new Image();
    image.src = 'data:image/svg+xml,' + encodeURIComponent(svg.replace('<svg ', '<svg width="' + size + '" height="' + size + '" '));
    await image.decode();
    const canvas = Object.assign(document.createElement('canvas'), { width: size, height: size });
    canvas.getContext('2d').drawImage(image, 0, 0, size, size);
    out.push(canvas.toDataURL('image/png').split(',')[1]);
  }
  document.body.textContent = 'made:' + out.join(' ') + ':made';
})();
</script></body>`;

const work = mkdtempSync(join(tmpdir(), 'icons-'));
try {
  writeFileSync(join(work, 'icons.html'), page);
  const dom = execFileSync(process.env.CHROMIUM ?? 'chromium', ['--headless', '--no-sandbox', '--disable-gpu', `--user-data-dir=${join(work, 'profile')}`, '--virtual-time-budget=5000', '--dump-dom', `file://${join(work, 'icons.html')}`], { encoding: 'utf8', maxBuffer: 1 << 24, stdio: ['ignore', 'pipe', 'ignore'] });
  const made = /made:([^:]*):made<\/body>/.exec(dom)?.[1].split(' ');
  if (made?.length !== wanted.length) throw new Error('the browser drew no icons');
  wanted.forEach(({ name }, at) => writeFileSync(new URL(name, icons), Buffer.from(made[at], 'base64')));
} finally {
  rmSync(work, { recursive: true, force: true });
}
