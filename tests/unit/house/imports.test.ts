import { readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join, normalize, relative } from 'node:path';
import { describe, expect, test } from 'vitest';

const src = join(import.meta.dirname, '../../../src');

/** What each layer may import besides itself. */
const layers: Record<string, readonly string[]> = {
  core: [],
  formats: ['core'],
  report: ['core', 'formats'],
  storage: ['core', 'formats'],
  remote: ['core', 'formats'],
  workers: ['core', 'formats', 'report', 'storage', 'remote'],
  state: ['core', 'formats', 'report', 'storage', 'remote', 'workers'],
  commands: ['core', 'formats', 'report', 'storage', 'remote', 'workers', 'state'],
  views: ['core', 'formats', 'report', 'storage', 'remote', 'workers', 'state', 'commands'],
  main: ['core', 'formats', 'report', 'storage', 'remote', 'workers', 'state', 'commands', 'views'],
  cli: ['core', 'formats', 'report', 'remote'],
  samples: ['core', 'formats', 'report', 'remote'],
};

/** The same inside core. */
const coreParts: Record<string, readonly string[]> = {
  units: [],
  moments: [],
  elementary: [],
  amount: [],
  random: ['elementary'],
  recording: ['units'],
  marks: ['units', 'recording'],
  detector: ['units', 'moments', 'recording', 'marks'],
  simulate: ['units', 'random', 'elementary', 'recording', 'marks'],
  score: ['units', 'random', 'elementary', 'moments', 'recording', 'marks'],
  sample: ['units', 'random', 'elementary', 'moments', 'recording', 'marks', 'score'],
  agreement: ['units', 'random', 'elementary', 'moments', 'recording', 'marks', 'score'],
  hrv: ['units', 'random', 'elementary', 'moments', 'recording', 'marks', 'score'],
  review: [
    'units',
    'random',
    'elementary',
    'moments',
    'recording',
    'marks',
    'detector',
    'simulate',
    'score',
    'sample',
    'agreement',
    'hrv',
  ],
  report: [
    'units',
    'amount',
    'random',
    'elementary',
    'moments',
    'recording',
    'marks',
    'detector',
    'simulate',
    'score',
    'sample',
    'agreement',
    'hrv',
    'review',
  ],
  // Examples from every part, with the answers they must give.
  'known-answers': [
    'units',
    'moments',
    'recording',
    'marks',
    'detector',
    'simulate',
    'score',
    'sample',
    'agreement',
    'hrv',
    'review',
  ],
};

interface Import {
  readonly from: string;
  readonly to: string;
}

function filesUnder(folder: string): string[] {
  return readdirSync(folder).flatMap(name => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return filesUnder(path);
    return /\.tsx?$/.test(name) && !name.endsWith('.d.ts') ? [path] : [];
  });
}

/** Every relative import of a source file, types too, as paths from src/. */
function importsOf(file: string, text: string): Import[] {
  const found = [...text.matchAll(/(?:from|import)\s*\(?\s*'(\.[^']+)'|new URL\('(\.[^']+)'/g)];
  const from = relative(src, file);
  return found.map(m => ({ from, to: relative(src, normalize(join(dirname(file), (m[1] ?? m[2])!))) }));
}

const layerOf = (path: string) => (path.includes('/') ? path.slice(0, path.indexOf('/')) : path.replace(/\.tsx?$/, ''));
const partOf = (path: string) => layerOf(path.slice('core/'.length));
const screenOf = (path: string) => path.split('/')[1]!;

/** Views are one folder a screen; these are shared by all of them. */
const sharedViews = ['controls', 'app-context', 'strip-chart', 'overview', 'paper.css', 'page.css'];
/** Screens that are made of others. */
const composingViews = ['page.tsx', 'review', 'dialogs', 'compare', 'practice'];

/** Composes the page: nobody may lean on it but start-up. */
const composition = 'state/create-app';
/** The whole page's interface: below the screens, a function names the few parts that it needs. */
const wholePage = 'state/app';

function violations(imports: readonly Import[]): string[] {
  return imports.flatMap(({ from, to }) => {
    const [a, b] = [layerOf(from), layerOf(to)];
    if (to === composition && from !== 'main.tsx') return [`${from} -> ${to}: only main.tsx puts the page together`];
    if (to === wholePage && a !== 'views' && from !== 'state/create-app.ts') {
      return [`${from} -> ${to}: name the parts that are needed instead of the whole page`];
    }
    if (a !== b) return layers[a]?.includes(b) ? [] : [`${from} -> ${to}: ${a} may not import ${b}`];
    if (a === 'core' && partOf(from) !== partOf(to)) {
      return coreParts[partOf(from)]?.includes(partOf(to)) ? [] : [`${from} -> ${to}: core order`];
    }
    if (a === 'views' && screenOf(from) !== screenOf(to)) {
      const allowed = sharedViews.includes(screenOf(to)) || composingViews.includes(screenOf(from));
      return allowed ? [] : [`${from} -> ${to}: one screen imports another`];
    }
    return [];
  });
}

/** Files that import each other in a circle, each circle once; `imports` without endings, as written. */
function circles(files: readonly string[], imports: readonly Import[]): string[][] {
  const plain = (path: string) => path.replace(/\.tsx?$/, '');
  const next = new Map<string, string[]>(files.map(f => [plain(f), []]));
  for (const { from, to } of imports) if (next.has(plain(to))) next.get(plain(from))!.push(plain(to));
  return stronglyConnected(next).filter(([a, ...more]) => more.length > 0 || next.get(a!)!.includes(a!));
}

// source: Tarjan 1972, depth-first search and linear graph algorithms
function stronglyConnected(next: ReadonlyMap<string, readonly string[]>): string[][] {
  const order = new Map<string, number>();
  const lowest = new Map<string, number>();
  const open: string[] = [];
  const found: string[][] = [];
  const visit = (v: string) => {
    order.set(v, order.size);
    lowest.set(v, order.get(v)!);
    open.push(v);
    for (const w of next.get(v)!) {
      if (!order.has(w)) visit(w);
      if (open.includes(w)) lowest.set(v, Math.min(lowest.get(v)!, lowest.get(w)!));
    }
    if (lowest.get(v) === order.get(v)) found.push(open.splice(open.indexOf(v)));
  };
  for (const v of next.keys()) if (!order.has(v)) visit(v);
  return found;
}

describe('import directions', () => {
  const files = filesUnder(src);
  const imports = files.flatMap(file => importsOf(file, readFileSync(file, 'utf8')));

  test('there is something to check', () => {
    expect(files.length).toBeGreaterThan(50);
    expect(imports.length).toBeGreaterThan(100);
  });

  test('hold everywhere', () => {
    expect(violations(imports)).toEqual([]);
  });

  test('no file imports in a circle, types included', () => {
    const names = files.map(f => relative(src, f));
    expect(circles(names, imports)).toEqual([]);
  });

  test('a planted circle is found, short or long, by value or by type', () => {
    const planted: Record<string, string> = {
      'state/a.ts': "import type { B } from './b';",
      'state/b.ts': "import { c } from './deep/c';",
      'state/deep/c.tsx': "export { a } from '../a';",
      'state/self.ts': "import { self } from './self';",
      'state/late.ts': "const a = () => import('./a');",
    };
    const found = Object.entries(planted).flatMap(([path, text]) => importsOf(join(src, path), text));
    expect(circles(Object.keys(planted), found).map(c => c.sort())).toEqual([
      ['state/a', 'state/b', 'state/deep/c'],
      ['state/self'],
    ]);
    const late = importsOf(join(src, 'state/a.ts'), "import { late } from './late';");
    expect(circles(Object.keys(planted), [...found, ...late])[0]).toContain('state/late');
  });

  test('a planted violation is found', () => {
    const planted = importsOf(join(src, 'core/marks/planted.ts'), "import type { X } from '../../views/page';");
    expect(violations(planted)).toHaveLength(1);
    const inside = importsOf(join(src, 'core/marks/planted.ts'), "import type { X } from '../report/table';");
    expect(violations(inside)).toHaveLength(1);
    const screens = importsOf(join(src, 'views/help/planted.tsx'), "import { Start } from '../start/start';");
    expect(violations(screens)).toHaveLength(1);
    const composed = importsOf(
      join(src, 'views/help/planted.tsx'),
      "import { createApp } from '../../state/create-app';",
    );
    expect(violations(composed)).toHaveLength(1);
    const whole = importsOf(join(src, 'state/review/planted.ts'), "import type { App } from '../app';");
    expect(violations(whole)).toHaveLength(1);
  });
});
