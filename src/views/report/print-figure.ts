import { figureSvg, type ShownFigure } from '../../report/figures/figure';

/**
 * Prints one figure on a page of its own size, for the browser's "Save as PDF": as vectors, with its fonts. The document
 * is named after the figure meanwhile, as browsers propose that for the file, and is as before when the dialog closes.
 */
export function printFigure(figure: ShownFigure): void {
  const svg = figureSvg(figure, true);
  const size = /width="([\d.]+)mm" height="([\d.]+)mm"/.exec(svg);
  if (!size) throw new RangeError('the figure names no size in mm');
  const place = document.createElement('div');
  place.className = 'one-figure';
  place.append(document.importNode(new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement, true));
  const [before, title] = [document.adoptedStyleSheets, document.title];
  document.body.append(place);
  document.adoptedStyleSheets = [pageOf(Number(size[1]), Number(size[2]))];
  document.title = figure.id;
  window.addEventListener(
    'afterprint',
    () => {
      place.remove();
      document.adoptedStyleSheets = before;
      document.title = title;
    },
    { once: true },
  );
  window.print();
}

function pageOf(widthMm: number, heightMm: number): CSSStyleSheet {
  const sheet = new CSSStyleSheet();
  // A page that is a hair too low would push the figure onto a second one.
  sheet.replaceSync(`
    @page { size: ${widthMm}mm ${Math.ceil(heightMm + 0.5)}mm; margin: 0; }
    .one-figure { display: none; }
    @media print {
      body > :not(.one-figure) { display: none !important; }
      body { margin: 0; background: white; }
      .one-figure { display: block; }
      .one-figure svg { display: block; width: ${widthMm}mm; height: ${heightMm}mm; }
    }`);
  return sheet;
}
