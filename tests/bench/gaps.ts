import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'vite';
import { chooseFile, peakPageMb, withPage } from './browser';
import type { Bench, Figure } from './measure';
import { mostlyGap } from './mostly-gap';

type Steps = typeof import('./pages/import-steps');

const root = join(import.meta.dirname, '../..');
const days = 60;
const pieces = 3;
const pieceSeconds = 20;

export const gapsBench: Bench = {
  name: 'gaps',
  says: `an EDF+D of ${days} days with ${pieces} strips of ${pieceSeconds} s, page and command line, against the strips alone`,
  async run() {
    const folder = mkdtempSync(join(tmpdir(), 'gaps-bench-'));
    try {
      const [long, short] = [join(folder, 'long.edf'), join(folder, 'short.edf')];
      writeFileSync(long, (await mostlyGap(days, pieces, pieceSeconds)).bytes);
      writeFileSync(short, (await mostlyGap((pieces * (pieceSeconds + 2)) / 86_400, pieces, pieceSeconds)).bytes);
      return [...(await inPage(long, short)), ...(await onCommandLine(folder, long, short))];
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
};

async function inPage(long: string, short: string): Promise<Figure[]> {
  const measured = (path: string) =>
    withPage<Steps, { ms: number; mb: number | null }>(
      '../../bench/pages/import-steps',
      async ({ page, browser, call }) => {
        await chooseFile(page, path);
        await call('importChosen');
        const times: number[] = [];
        for (let round = 0; round < 5; round++) times.push((await call('importChosen')).doneMs);
        return { ms: times.sort((a, b) => a - b)[2]!, mb: await peakPageMb(browser) };
      },
    );
  return figures('page, import', await measured(long), await measured(short));
}

/** Marks of the built-in detector, and the same file as a bundle. */
async function onCommandLine(folder: string, long: string, short: string): Promise<Figure[]> {
  const outDir = join(folder, 'cli');
  await build({ configFile: join(root, 'src/cli/vite.config.ts'), logLevel: 'warn', build: { outDir } });
  const measured = (args: readonly string[]) => {
    const runs = Array.from({ length: 3 }, () => runOf(join(outDir, 'beat-ledger.js'), args));
    return runs.sort((a, b) => a.ms - b.ms)[1]!;
  };
  const to = join(folder, 'out.zip');
  return [
    ...figures('command line, detect', measured(['detect', long]), measured(['detect', short])),
    ...figures(
      'command line, convert',
      measured(['convert', long, to, '--force']),
      measured(['convert', short, to, '--force']),
    ),
  ];
}

/** Writes the most memory that the run took as the last line of stderr. */
const tellMemory = `data:text/javascript,process.on('exit',()=>console.error(process.resourceUsage().maxRSS))`;

function runOf(script: string, args: readonly string[]): { ms: number; mb: number } {
  const before = performance.now();
  const { status, stderr } = spawnSync(process.execPath, ['--import', tellMemory, script, ...args], {
    encoding: 'utf8',
  });
  const ms = performance.now() - before;
  if (status !== 0) throw new Error(stderr);
  return { ms, mb: Number(stderr.trim().split('\n').at(-1)) / 1024 };
}

interface Measured {
  readonly ms: number;
  readonly mb: number | null;
}

function figures(of: string, long: Measured, short: Measured): Figure[] {
  return [
    { of: `${of}, time`, value: long.ms / short.ms, unit: 'x', limit: 2 },
    { of, value: long.ms, unit: 'ms', limit: null },
    ...(long.mb === null || short.mb === null
      ? []
      : ([
          { of: `${of}, memory`, value: long.mb / short.mb, unit: 'x', limit: 1.2 },
          { of: `${of}, at most`, value: long.mb, unit: 'MB', limit: null },
        ] as const)),
  ];
}
