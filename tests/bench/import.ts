import { createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { chooseFile, peakPageMb, withPage } from './browser';
import type { Bench, Figure } from './measure';
import { plainEdfBlocks, plainWord } from './plain-edf';

type Steps = typeof import('./pages/import-steps');

/** The whole page, workers included, on the 24-hour recording. */
const memoryLimitMb = 600;

export const importBench: Bench = {
  name: 'import',
  says: 'EDF with three leads at 1000 Hz through the worker into the store, against reading the file and copying its bytes',
  async run() {
    const folder = mkdtempSync(join(tmpdir(), 'import-bench-'));
    try {
      const figures: Figure[] = [];
      for (const hours of [1, 6, 24]) figures.push(...(await importOf(hours, join(folder, `${hours}h.edf`))));
      for (const hours of [1, 6, 24]) figures.push(...(await importOfText(hours, join(folder, `${hours}h.csv`))));
      return figures;
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
};

async function importOf(hours: number, path: string): Promise<Figure[]> {
  const blocks = plainEdfBlocks({ leads: 3, samplingRateHz: 1000, seconds: hours * 3600 });
  await pipeline(Readable.from(blocks), createWriteStream(path));
  const megabytes = statSync(path).size / 1e6;
  return withPage<Steps, Figure[]>('../../bench/pages/import-steps', async ({ page, browser, call }) => {
    await chooseFile(page, path);
    await call('copyChosen');
    await call('importChosen');
    const copies: number[] = [];
    const imports: Awaited<ReturnType<Steps['importChosen']>>[] = [];
    for (let round = 0; round < 3; round++) {
      copies.push(await call('copyChosen'));
      imports.push(await call('importChosen'));
    }
    const copyMs = copies.sort((a, b) => a - b)[1]!;
    const { doneMs, readyMs } = imports.sort((a, b) => a.doneMs - b.doneMs)[1]!;
    const of = `${hours} h`;
    const memory = await peakPageMb(browser);
    return [
      { of, value: doneMs / copyMs, unit: 'x', limit: 3 },
      { of: `${of}, speed`, value: megabytes / (doneMs / 1000), unit: 'MB/s', limit: null },
      { of: `${of}, until a strip can be shown`, value: readyMs ?? doneMs, unit: 'ms', limit: 1000 },
      ...(memory === null
        ? []
        : [{ of: `${of}, peak of the page`, value: memory, unit: 'MB', limit: memoryLimitMb } as const]),
    ];
  });
}

const textRateHz = 125;

/** Time and one lead a line, as recorders export it. */
async function importOfText(hours: number, path: string): Promise<Figure[]> {
  await pipeline(Readable.from(textLines(hours * 3600)), createWriteStream(path));
  const megabytes = statSync(path).size / 1e6;
  return withPage<Steps, Figure[]>('../../bench/pages/import-steps', async ({ page, call }) => {
    await chooseFile(page, path);
    await call('copyChosen');
    const copies: number[] = [];
    const imports: number[] = [];
    for (let round = 0; round < 3; round++) {
      copies.push(await call('copyChosen'));
      const { doneMs, samples } = await call('importChosenText');
      if (samples !== hours * 3600 * textRateHz) throw new Error(`${samples} samples were read`);
      imports.push(doneMs);
    }
    const [copyMs, doneMs] = [copies, imports].map(t => t.sort((a, b) => a - b)[1]!) as [number, number];
    const of = `${hours} h at ${textRateHz} Hz as CSV`;
    return [
      { of: `${of}, speed`, value: megabytes / (doneMs / 1000), unit: 'MB/s', limit: null },
      { of: `${of}, against copying`, value: doneMs / copyMs, unit: 'x', limit: null },
    ];
  });
}

function* textLines(seconds: number): Generator<string> {
  yield 'time_s,ecg_mV\n';
  for (let second = 0; second < seconds; second++) {
    let lines = '';
    for (let i = 0; i < textRateHz; i++) {
      const at = second * textRateHz + i;
      lines += `${(at / textRateHz).toFixed(3)},${(plainWord(0, at, textRateHz) * 0.005).toFixed(4)}\n`;
    }
    yield lines;
  }
}
