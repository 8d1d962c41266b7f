import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { zipSync } from 'fflate';
import { arraySamples } from '../../src/formats/bytes/memory-sink';
import type { ByteSource, SampleSink } from '../../src/formats/bytes/source';
import { bytesSource } from '../../src/formats/bytes/source';
import { readEdf, readEdfAnnotations } from '../../src/formats/edf/reader';
import { annotationsOnly, edfBytes } from '../../src/formats/edf/writer';
import { FormatError } from '../../src/formats/format-error';
import { readIshne } from '../../src/formats/ishne/reader';
import { ishneBytes } from '../../src/formats/ishne/writer';
import { inflated, sniff } from '../../src/formats/open';
import { readRaw } from '../../src/formats/raw/raw';
import { previewText } from '../../src/formats/text/layout';
import { previewMarks, readMarks } from '../../src/formats/text/marks';
import { previewSegments, readSegments } from '../../src/formats/text/segments';
import { readTextSignal } from '../../src/formats/text/signal';
import { referenceGaps, sampleContent } from '../unit/formats/edf/fixtures';
import { bundleTargets } from './bundles';
import { mutate, randomFrom } from './mutate';
import type { FuzzTarget } from './target';

export interface FuzzResult {
  readonly name: string;
  readonly inputs: number;
  /** Read without complaint. */
  readonly values: number;
  readonly formatErrors: number;
  /** Anything else than a value or a FormatError: the first few, with the number of the input. */
  readonly failures: readonly string[];
  readonly longestMs: number;
  readonly largestMemoryMb: number;
}

const clock = { samplingRateHz: 250, sampleCount: 5000, startedAt: '2026-03-14T08:30:00' };
const text = (t: string) => new TextEncoder().encode(t);

/** Counts words and checks that none is NaN, as a store would trip over it. */
function strictSink(): SampleSink {
  return {
    write(_lead, words) {
      if (words instanceof Float32Array && words.some(Number.isNaN)) throw new Error('a NaN reached the sink');
    },
    skip() {},
    restart() {},
  };
}

async function ishneExample(): Promise<Uint8Array> {
  const lead = {
    samplingRateHz: 250,
    sampleCount: 400,
    format: 'int16',
    mvPerUnit: 0.005,
    offset: 0,
    fileUnit: 'mV',
  } as const;
  const words = Int16Array.from({ length: 400 }, (_, i) => Math.round(900 * Math.sin(i / 5)));
  const recording = {
    id: 'x',
    recorder: 'adhesive logger',
    samplingRateHz: 250,
    sampleCount: 400,
    startedAt: '2026-03-14T08:30:00',
    leads: [
      { ...lead, name: 'II' },
      { ...lead, name: 'V5' },
    ],
    gaps: [],
    source: 'made',
  };
  return ishneBytes(recording, [arraySamples(words), arraySamples(words)]);
}

/** Files that NumPy, SciPy and DuckDB wrote (tests/reference/arrays). */
function arrayTargets(): FuzzTarget[] {
  const files: Readonly<Record<string, readonly string[]>> = {
    'NumPy array': ['both-float64.npy', 'record.npy', 'half.npy'],
    'NumPy arrays (.npz)': ['plain.npz', 'compressed.npz'],
    'MAT-file': ['plain.mat', 'compressed.mat', 'structure.mat'],
    Parquet: ['snappy.parquet', 'gzip.parquet', 'gaps.parquet'],
  };
  const folder = join(import.meta.dirname, '../reference/arrays');
  const bytesOf = (file: string) => new Uint8Array(readFileSync(join(folder, file)));
  const whole = Object.entries(files).map(([name, seeds]) => ({ name, seeds: seeds.map(bytesOf), read: readArrays }));
  // What is damaged in a zip rarely gets past its checksums: here the array was damaged before.
  const member: FuzzTarget = {
    name: 'array in an .npz',
    seeds: [bytesOf('both-float64.npy'), bytesOf('half.npy')],
    read: async s => {
      const zip = zipSync({ 'ecg.npy': await s.read(0, s.size) }, { level: 0 });
      return readArrays(bytesSource('fuzz.npz', zip));
    },
  };
  return [...whole, member];
}

async function readArrays(source: ByteSource): Promise<unknown> {
  const table = await inflated(source);
  return table.made && readTextSignal(table, { ...(await previewText(table)), samplingRateHz: 250 }, strictSink());
}

export async function fuzzTargets(): Promise<FuzzTarget[]> {
  const rows = Array.from({ length: 60 }, (_, i) => [i * 4, Math.round(900 * Math.sin(i / 5))] as const);
  const continuous = await edfBytes(sampleContent());
  const raw = {
    encoding: 'int24',
    littleEndian: true,
    samplingRateHz: 250,
    leads: ['I', 'II'],
    unitsPerMv: 200,
    offset: 0,
    headerBytes: 4,
  } as const;
  return [
    { name: 'ISHNE', seeds: [await ishneExample()], read: s => readIshne(s, strictSink()) },
    { name: 'EDF+C', seeds: [continuous], read: s => readEdf(s, {}, strictSink()) },
    { name: 'EDF+D', seeds: [await edfBytes(sampleContent(referenceGaps))], read: s => readEdf(s, {}, strictSink()) },
    {
      name: 'EDF+ annotations',
      seeds: [await edfBytes(annotationsOnly(sampleContent()))],
      read: s => readEdfAnnotations(s),
    },
    {
      name: 'text signal',
      seeds: [
        text(`time_ms,ECG (uV)\n${rows.map(r => r.join(',')).join('\n')}\n`),
        text(
          `Zeit (s);EKG (mV);II (mV)\r\n${rows.map(([t, v]) => `${t / 1000};${v / 1000};${v}`.replaceAll('.', ',')).join('\r\n')}`,
        ),
        text(
          `time ecg\n${rows.map(([t, v]) => `2026-03-14T08:30:00.${String(t).padStart(3, '0')} ${v}e-3`).join('\n')}\n`,
        ),
        text(`# fs = 250\n${rows.map(([, v]) => v).join('\n')}\n`),
      ],
      read: async s => readTextSignal(s, await previewText(s), strictSink()),
    },
    {
      name: 'text marks',
      seeds: [
        text('sample\n100\n300\n520\n800\n'),
        text('rr_ms\n800\n820\n790\n'),
        text('0,4\n1,2\n2,05\n'),
        text('08:30:01\n08:30:02.5\n'),
      ],
      read: async s => readMarks(s, await previewMarks(s, clock), clock),
    },
    {
      name: 'text segments',
      seeds: [
        text('name,start_s,end_s\nwatch,0,10\n"run, steep",10,20\n'),
        text('watch;08:30:00;08:35:00\nrun;08:35:00;08:40:00\n'),
      ],
      read: async s => readSegments(s, await previewSegments(s), clock),
    },
    { name: 'raw', seeds: [continuous.subarray(0, 3000)], read: s => readRaw(s, raw, strictSink()) },
    {
      name: 'gzip',
      seeds: [new Uint8Array(gzipSync(continuous.subarray(0, 6000)))],
      read: async s => (await inflated(s)).read(0, 1e9),
    },
    {
      name: 'telling formats apart',
      seeds: [continuous, text('sample\n1\n2\n'), text('a;0;1\nb;1;2\n'), new Uint8Array(gzipSync('1\n2\n'))],
      read: s => sniff(s),
    },
    ...arrayTargets(),
    ...(await bundleTargets()),
  ];
}

/** Reads `inputs` mutated files. The same seed gives the same files. */
export async function fuzz(target: FuzzTarget, inputs: number, seed: number): Promise<FuzzResult> {
  const random = randomFrom(seed);
  const failures: string[] = [];
  let [values, formatErrors, longestMs, largestMemoryMb] = [0, 0, 0, 0];
  for (let i = 0; i < inputs; i++) {
    const bytes = mutate(target.seeds[i % target.seeds.length]!, random);
    const began = process.cpuUsage();
    try {
      await target.read(bytesSource('fuzz', bytes));
      values++;
    } catch (error) {
      if (error instanceof FormatError) formatErrors++;
      else if (failures.length < 5) failures.push(`input ${i}: ${error instanceof Error ? error.stack : error}`);
    }
    // Time that other work on the machine takes is not counted.
    const { user, system } = process.cpuUsage(began);
    longestMs = Math.max(longestMs, (user + system) / 1000);
    if (i % 100 === 0) largestMemoryMb = Math.max(largestMemoryMb, process.memoryUsage().rss / 2 ** 20);
  }
  return { name: target.name, inputs, values, formatErrors, failures, longestMs, largestMemoryMb };
}
