import { marksFrom } from '../../../../src/core/marks/markset';
import { zeroWord } from '../../../../src/core/recording/pieces';
import type { Lead, Recording, SampleArray, Segment } from '../../../../src/core/recording/recording';
import { span } from '../../../../src/core/units';
import { arraySamples, type memorySink } from '../../../../src/formats/bytes/memory-sink';
import type { SampleSink } from '../../../../src/formats/bytes/source';
import { toAnnotations } from '../../../../src/formats/edf/annotations';
import type { EdfContent } from '../../../../src/formats/edf/layout';

export function lead(name: string, samplingRateHz: number, sampleCount: number, more: Partial<Lead> = {}): Lead {
  const scale = { mvPerUnit: 0.005, offset: 0, fileUnit: 'mV', format: 'int16' as const };
  return { name, samplingRateHz, sampleCount, ...scale, ...more };
}

export function recordingWith(leads: readonly Lead[], more: Partial<Recording> = {}): Recording {
  return {
    id: 'V01-adhesive',
    recorder: 'adhesive logger',
    samplingRateHz: leads[0]?.samplingRateHz ?? 250,
    sampleCount: leads[0]?.sampleCount ?? 0,
    startedAt: '2026-03-14T08:30:00',
    leads,
    gaps: [],
    source: 'simulated',
    ...more,
  };
}

/** A repeatable, lively signal: no two neighbouring records alike. */
export function wave(length: number, seed: number): Int16Array {
  const out = new Int16Array(length);
  for (let i = 0, state = seed; i < length; i++) {
    state = (Math.imul(state, 1664525) + 1013904223) | 0;
    out[i] = Math.round(900 * Math.sin((i * (seed + 3)) / 40)) + (state >> 26) + (i % 97 === 0 ? 4000 : 0);
  }
  return out;
}

/** Two leads of different rates, marks about every 0.8 s and two segments; EDF+D when gaps are given. */
export function sampleContent(gaps: readonly (readonly [number, number])[] = []): EdfContent {
  const leads = [lead('ECG', 250, 5125), lead('ECG low', 125, 2563, { mvPerUnit: 0.00244140625, offset: 12 })];
  const recording = recordingWith(leads, {
    gaps: gaps.map(([a, b]) => span(a, b)),
    startedAt: '2026-03-14T08:30:00.250',
  });
  const beats = Array.from({ length: 25 }, (_, i) => 37 + i * 203).filter(b => !gaps.some(([a, z]) => b >= a && b < z));
  const segments: Segment[] = [
    { name: 'seated radio watch', ...span(0, 2500) },
    { name: 'Lager, ruhig – \u00e4', ...span(2500, 5000) },
  ];
  const words = leads.map((l, i) => wave(l.sampleCount, i + 1));
  for (const [a, z] of gaps)
    for (const [i, w] of words.entries()) w.fill(leads[i]!.offset, ...leadSpan(leads[i]!, a, z));
  return {
    recording,
    leads: words.map(arraySamples),
    annotations: toAnnotations(marksFrom(beats), segments, 250),
    participant: 'V01',
  };
}

function leadSpan(l: Lead, start: number, end: number): [number, number] {
  return [Math.floor((start / 250) * l.samplingRateHz + 0.5), Math.floor((end / 250) * l.samplingRateHz + 0.5)];
}

/** What was read of a lead, in one row with its gaps. */
export function onTimeLine(sink: ReturnType<typeof memorySink>, l: Lead, index: number): Int16Array {
  return sink.samples(index, zeroWord(l)).read(0, l.sampleCount) as Int16Array;
}

/** Content to write again from what was read. */
export function contentOf(
  opened: { recording: Recording; annotations: EdfContent['annotations'] },
  sink: ReturnType<typeof memorySink>,
  participant?: string,
): EdfContent {
  const leads = opened.recording.leads.map((l, i) => sink.samples(i, zeroWord(l)));
  return {
    recording: opened.recording,
    leads,
    annotations: opened.annotations,
    ...(participant ? { participant } : {}),
  };
}

/** Comparing millions of words one by one through the test runner takes seconds; this does not. */
export function sameWords(a: SampleArray, b: SampleArray | undefined): boolean {
  return b !== undefined && a.constructor === b.constructor && a.length === b.length && a.every((w, i) => w === b[i]);
}

export const nullSink: SampleSink = { write: () => {}, skip: () => {} };

/** Changes ASCII bytes of a copy. */
export function patched(bytes: Uint8Array, at: number, text: string): Uint8Array {
  const copy = bytes.slice();
  for (let i = 0; i < text.length; i++) copy[at + i] = text.charCodeAt(i);
  return copy;
}

export const referenceGaps = [
  [1100, 1900],
  [3010, 3100],
  [3800, 4400],
] as const;

/** The files that independent readers were given; their readings are stored in tests/reference/edf/readings.json. */
export function referenceContents(): Record<'continuous' | 'subsecond' | 'discontinuous', EdfContent> {
  const whole = (c: EdfContent): EdfContent => ({
    ...c,
    recording: { ...c.recording, startedAt: '2026-03-14T08:30:00' },
  });
  return {
    continuous: whole(sampleContent()),
    subsecond: sampleContent(),
    discontinuous: whole(sampleContent(referenceGaps)),
  };
}
