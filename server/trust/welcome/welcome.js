// Whether this device trusts home: a picture that only a trusted line brings. Without this script the
// page says the same in words, and the link to the app is there.
const { origin, direct, probe } = document.body.dataset;
const again = document.getElementById('again');
const open = document.getElementById('open');
const patience = 8000; // ms; a name that is not found can take long to be told

function show(state) {
  for (const p of document.querySelectorAll('[data-when]')) p.hidden = p.dataset.when !== state;
  again.hidden = state === 'trusted' || state === 'checking';
  open.hidden = state !== 'trusted';
  if (state === 'trusted') handOver();
}

// The steps are done: they close, and what comes next stands first.
let over = false;
function handOver() {
  const steps = document.getElementById('steps');
  const first = document.getElementById('first');
  if (over || !first) return;
  over = true;
  first.hidden = true;
  document.getElementById('done').hidden = false;
  for (const one of steps.querySelectorAll('details')) one.open = false;
  steps.prepend(document.getElementById('next'));
}

function loads(from) {
  return new Promise((resolve) => {
    const picture = new Image();
    const late = setTimeout(() => { picture.src = ''; resolve(false); }, patience);
    picture.onload = () => { clearTimeout(late); resolve(true); };
    picture.onerror = () => { clearTimeout(late); resolve(false); };
    picture.src = `${from}${probe}?${Date.now()}`;
  });
}

let busy = false;
async function check() {
  if (busy) return;
  busy = true;
  show('checking');
  const [byName, byAddress] = await Promise.all([loads(origin), direct ? loads(direct) : false]);
  show(byName ? 'trusted' : byAddress ? 'unfound' : 'untrusted');
  busy = false;
}

again.addEventListener('click', check);
document.addEventListener('visibilitychange', () => { if (!document.hidden && open.hidden) check(); });
addEventListener('pageshow', (event) => { if (event.persisted) check(); });

// An iPad may call itself a Mac; a Mac has no touch screen.
const mac = document.getElementById('mac');
const tablet = document.getElementById('iphone');
if (mac?.open && navigator.maxTouchPoints > 1) {
  mac.open = false;
  tablet.open = true;
  mac.parentNode.prepend(tablet);
}
check();
