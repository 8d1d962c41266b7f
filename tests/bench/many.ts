import { spawn } from 'node:child_process';
import { linkSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'vite';
import { longRecording } from './long-recording';
import type { Bench, Figure } from './measure';

/** Recordings in the run, of half an hour each; so many of them differ, the others are links to them. */
const count = Number(process.env['MANY'] ?? 1000);
const different = 10;
const rateHz = 250;
const root = join(import.meta.dirname, '../..');

export const manyBench: Bench = {
  name: 'many',
  says: `the beats of ${count} recordings of 30 minutes at ${rateHz} Hz in one run of the command line, on all cores`,
  async run() {
    const folder = mkdtempSync(join(tmpdir(), 'many-bench-'));
    try {
      const outDir = join(folder, 'cli');
      await build({ configFile: join(root, 'src/cli/vite.config.ts'), logLevel: 'warn', build: { outDir } });
      makeRecordings(join(folder, 'in'));
      const out = join(folder, 'out');
      const args = [
        'detect',
        join(folder, 'in'),
        '--out',
        out,
        '--raw',
        'int16',
        '--rate',
        `${rateHz}`,
        '--gain',
        '200',
      ];
      const { ms, memory } = await watched(join(outDir, 'beat-ledger.js'), args, out);
      return figuresOf(ms, memory, resultsIn(out));
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
};

function figuresOf(ms: number, memory: readonly { done: number; mb: number }[], results: number): Figure[] {
  if (results !== count) throw new Error(`${results} results of ${count}`);
  const most = (from: number, to: number) =>
    Math.max(...memory.filter(m => m.done >= from * count && m.done <= to * count).map(m => m.mb));
  const limit = null;
  return [
    { of: `${count} recordings of 30 min`, value: ms, unit: 'ms', limit },
    { of: 'each', value: ms / count, unit: 'ms', limit },
    { of: 'memory at most', value: most(0, 1), unit: 'MB', limit },
    { of: 'memory of the last half / the first', value: most(0.5, 1) / most(0, 0.5), unit: 'x', limit: 1.3 },
  ];
}

/** Tables in the folder; what each was made from lies beside it. */
function resultsIn(out: string): number {
  return readdirSync(out).filter(name => name.endsWith('.csv')).length;
}

function makeRecordings(folder: string): void {
  mkdirSync(folder);
  for (let k = 0; k < count; k++) {
    const path = join(folder, `${k}.dat`);
    if (k >= different) {
      linkSync(join(folder, `${k % different}.dat`), path);
      continue;
    }
    const { recording, leads } = longRecording(0.5, rateHz, 1, `many-${k}`);
    const words = leads[0]!.read(0, recording.sampleCount) as Int16Array;
    writeFileSync(path, new Uint8Array(words.buffer, words.byteOffset, words.byteLength));
  }
}

/** Runs the program and looks at its memory as results come. */
function watched(program: string, args: readonly string[], out: string) {
  return new Promise<{ ms: number; memory: { done: number; mb: number }[] }>((resolve, reject) => {
    const memory: { done: number; mb: number }[] = [];
    const before = performance.now();
    const child = spawn(process.execPath, [program, ...args], { stdio: ['ignore', 'ignore', 'pipe'] });
    let said = '';
    child.stderr.on('data', (text: Buffer) => void (said += text.toString()));
    const look = setInterval(() => {
      try {
        const resident = /VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'));
        if (resident) memory.push({ done: resultsIn(out), mb: Number(resident[1]) / 1024 });
      } catch {
        // Not begun, or over.
      }
    }, 100);
    child.on('exit', code => {
      clearInterval(look);
      if (code === 0) resolve({ ms: performance.now() - before, memory });
      else reject(new Error(`exit code ${code}: ${said.slice(-500)}`));
    });
  });
}
