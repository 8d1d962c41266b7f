/** The inks of paper.css, resolved to what a canvas or an SVG takes. */
export interface Palette {
  readonly paper: string;
  readonly paperRaised: string;
  readonly paperOff: string;
  readonly gridFine: string;
  readonly gridBold: string;
  readonly rule: string;
  readonly ink: string;
  readonly inkSoft: string;
  readonly trace: string;
  readonly accent: string;
  readonly accentWash: string;
  readonly needsYou: string;
  readonly needsYouInk: string;
  readonly hatch: string;
}

const tokens: readonly (readonly [keyof Palette, string])[] = [
  ['paper', '--paper'],
  ['paperRaised', '--paper-raised'],
  ['paperOff', '--paper-off'],
  ['gridFine', '--grid-fine'],
  ['gridBold', '--grid-bold'],
  ['rule', '--rule'],
  ['ink', '--ink'],
  ['inkSoft', '--ink-soft'],
  ['trace', '--trace'],
  ['accent', '--accent'],
  ['accentWash', '--accent-wash'],
  ['needsYou', '--needs-you'],
  ['needsYouInk', '--needs-you-ink'],
  ['hatch', '--hatch'],
];

/** Reads the tokens as `host` sees them. Lays out once, so call it on a change of theme and not in a frame. */
export function readPalette(host: HTMLElement): Palette {
  const probe = host.appendChild(document.createElement('i'));
  // Else a system with colours of its own gives every token the same one.
  probe.style.setProperty('forced-color-adjust', 'none');
  const out: Record<string, string> = {};
  for (const [name, token] of tokens) {
    probe.style.color = `var(${token})`;
    out[name] = getComputedStyle(probe).color;
  }
  probe.remove();
  return out as unknown as Palette;
}

/** For pictures to print: ink on white, every distinction by shape. */
export const printPalette: Palette = {
  paper: '#ffffff',
  paperRaised: '#ffffff',
  paperOff: '#f2f2f2',
  gridFine: '#ececec',
  gridBold: '#d2d2d2',
  rule: '#9a9a9a',
  ink: '#000000',
  inkSoft: '#4a4a4a',
  trace: '#000000',
  accent: '#000000',
  accentWash: '#e4e4e4',
  needsYou: '#333333',
  needsYouInk: '#333333',
  hatch: '#7a7a7a',
};
