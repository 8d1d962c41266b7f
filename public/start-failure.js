// Loaded beside the page's modules: where these cannot run, the person reads why instead of an empty page.
let told = false;

function tell(what) {
  const page = document.getElementById('page');
  // Once the page is up it reports its failures itself.
  if (told || page.childElementCount > 0) return;
  told = true;
  const main = document.createElement('main');
  main.className = 'start';
  const head = document.createElement('h1');
  head.textContent = 'Beat Ledger could not start';
  const why = document.createElement('p');
  why.setAttribute('role', 'alert');
  why.textContent = what;
  const remedy = document.createElement('p');
  remedy.textContent =
    'What was saved in this browser is still there. Reload the page. If this comes again, use a current version of Chrome, Edge, Firefox or Safari, or tell whoever runs this page what it says above.';
  main.append(head, why, remedy);
  page.append(main);
}

addEventListener(
  'error',
  event => {
    const source = event.target?.src;
    tell(event.message || (source ? `${source} could not be loaded.` : 'A part of the page could not be loaded.'));
  },
  true,
);
addEventListener('unhandledrejection', event => tell(String(event.reason?.message ?? event.reason)));
