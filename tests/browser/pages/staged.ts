import type { Note } from '../../../src/core/marks/edit';
import { marksFrom } from '../../../src/core/marks/markset';
import { match } from '../../../src/core/marks/match';
import { markVerdicts } from '../../../src/core/marks/verdicts';
import type { Segment } from '../../../src/core/recording/recording';
import { type Span, sampleIndex, span } from '../../../src/core/units';
import type { ClockMap, StripRecorder, StripTrack, TraceColumns } from '../../../src/views/strip-chart/model';

/** A made-up recording for looking at the strip: cheap waves, seeded, every kind of entry within the first minute. */
export interface Staged {
  readonly id: string;
  readonly label: string;
  readonly samplingRateHz: number;
  readonly leads: readonly { readonly name: string; readonly words: Int16Array }[];
  readonly beats: Int32Array;
}

const mvPerUnit = 0.002;

/** Mulberry32: small seeded generator, public domain (Ettinger). */
export function seeded(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const waves = [
  { at: -0.17, width: 0.024, mv: 0.13 },
  { at: -0.034, width: 0.009, mv: -0.11 },
  { at: 0, width: 0.011, mv: 1.15 },
  { at: 0.034, width: 0.011, mv: -0.26 },
  { at: 0.26, width: 0.05, mv: 0.29 },
];

export function stage(
  id: string,
  label: string,
  rate: number,
  seconds: number,
  leadNames: string[],
  seed: number,
): Staged {
  const random = seeded(seed);
  const beats: number[] = [];
  for (let t = 0.6; t < seconds - 0.5; ) {
    beats.push(Math.round(t * rate));
    t += 0.8 - 0.18 * Math.sin(t / 140) ** 2 + 0.05 * Math.sin(t * 1.6) + 0.02 * (random() - 0.5);
  }
  const leads = leadNames.map((name, i) => ({
    name,
    words: drawLead(beats, rate, seconds, [1, 0.72, -0.6][i] ?? 0.5, random),
  }));
  return { id, label, samplingRateHz: rate, leads, beats: Int32Array.from(beats) };
}

function drawLead(beats: number[], rate: number, seconds: number, size: number, random: () => number): Int16Array {
  const n = Math.round(seconds * rate);
  const mv = new Float32Array(n);
  for (let i = 0; i < n; i++) mv[i] = 0.05 * Math.sin(i / rate / 0.7) + 0.022 * (random() - 0.5);
  for (const beat of beats) {
    for (const w of waves) {
      const centre = beat + w.at * rate;
      const reach = 4 * w.width * rate;
      for (let i = Math.max(0, Math.floor(centre - reach)); i < Math.min(n, centre + reach); i++) {
        mv[i]! += size * w.mv * Math.exp(-0.5 * ((i - centre) / (w.width * rate)) ** 2);
      }
    }
  }
  noise(mv, rate, random);
  const words = new Int16Array(n);
  for (let i = 0; i < n; i++) words[i] = Math.round(mv[i]! / mvPerUnit);
  return words;
}

/** Electrode noise from 20.5 s to 24 s, and nothing recorded from 33 s to 35.5 s. */
function noise(mv: Float32Array, rate: number, random: () => number): void {
  for (let i = Math.round(20.5 * rate); i < Math.min(mv.length, 24 * rate); i++) mv[i]! += 1.6 * (random() - 0.5);
}

export function staged(seconds: number, rate: number): { gaps: Span[] } {
  return { gaps: seconds > 40 ? [span(Math.round(33 * rate), Math.round(35.5 * rate))] : [] };
}

export function trackOf(recording: Staged, lead: number, gaps: readonly Span[], filteredNote?: string): StripTrack {
  const { words, name } = recording.leads[lead]!;
  const rate = recording.samplingRateHz;
  const isGap = (i: number) => gaps.some(g => i >= g.start && i < g.end);
  const pyramid = buildPyramid(words);
  const columns = (startSeconds: number, endSeconds: number, count: number, out: TraceColumns) => {
    const per = ((endSeconds - startSeconds) * rate) / count;
    const first = startSeconds * rate;
    for (let c = 0; c < count; c++) {
      const a = Math.round(first + c * per);
      const b = Math.max(a + 1, Math.round(first + (c + 1) * per));
      if (a >= words.length || isGap(a)) out.min[c] = out.max[c] = Number.NaN;
      else pyramid(a, Math.min(b, words.length), c, out);
    }
    return 'exact' as const;
  };
  return {
    id: `${recording.id}-${name}`,
    recorderLabel: recording.label,
    leadName: name,
    samplingRateHz: rate,
    columns,
    ...(filteredNote === undefined ? {} : { filteredNote }),
  };
}

const base = 64;

function buildPyramid(words: Int16Array) {
  const blocks = Math.ceil(words.length / base);
  const lows = new Int16Array(blocks);
  const highs = new Int16Array(blocks);
  for (let k = 0; k < blocks; k++) {
    let lo = 32767;
    let hi = -32768;
    for (let i = k * base; i < Math.min(words.length, (k + 1) * base); i++) {
      lo = Math.min(lo, words[i]!);
      hi = Math.max(hi, words[i]!);
    }
    lows[k] = lo;
    highs[k] = hi;
  }
  return (a: number, b: number, c: number, out: TraceColumns) => {
    let lo = 32767;
    let hi = -32768;
    if (b - a < 4 * base) {
      for (let i = a; i < b; i++) {
        lo = Math.min(lo, words[i]!);
        hi = Math.max(hi, words[i]!);
      }
    } else {
      for (let k = Math.floor(a / base); k < Math.ceil(b / base); k++) {
        lo = Math.min(lo, lows[k]!);
        hi = Math.max(hi, highs[k]!);
      }
    }
    out.min[c] = lo * mvPerUnit;
    out.max[c] = hi * mvPerUnit;
  };
}

const segmentNames = ['seated radio watch', 'packing the sled', 'approach hike', 'uphill run', 'sled haul'];

/** The recorder with marks: all verdicts, spans, notes and suggestions. */
export function recorderOf(recording: Staged, leads: number[], axis: ClockMap, filteredNote?: string): StripRecorder {
  const { samplingRateHz: rate, beats } = recording;
  const n = recording.leads[0]!.words.length;
  const { gaps } = staged(n / rate, rate);
  const unreadable = n / rate > 25 ? [span(Math.round(20.4 * rate), Math.round(24.1 * rate))] : [];
  const inGap = (b: number) => gaps.some(g => b >= g.start && b < g.end);
  const reviewed = marksFrom([...beats].filter(b => !inGap(b)));
  const detected = marksFrom(mistaken(reviewed, rate));
  const at = (sec: number) => sampleIndex(Math.round(sec * rate));
  const notes: Note[] = [
    { id: 'n1', kind: 'comment', start: at(6.1), end: at(6.1), text: 'T wave as tall as the R' },
    { id: 'n2', kind: 'flag', start: at(11.2), end: at(12.4), text: 'shown to the physician' },
  ];
  const per = n / segmentNames.length;
  const segments: Segment[] = segmentNames.map((name, i) => ({
    name,
    start: sampleIndex(Math.round(i * per + 0.9 * rate)),
    end: sampleIndex(Math.round((i + 1) * per + (i === 2 ? -20 : 0.9) * rate)),
  }));
  return {
    id: recording.id,
    label: recording.label,
    samplingRateHz: rate,
    sampleCount: n,
    startedAt: '2031-02-11T08:30:00',
    tracks: leads.map(lead => trackOf(recording, lead, gaps, filteredNote)),
    detected,
    reviewed,
    verdicts: markVerdicts(match(reviewed, detected, [...unreadable, ...gaps], rate), detected, reviewed),
    unreadable,
    gaps,
    accepted: [span(0, Math.round(13.4 * rate)), span(Math.round(16 * rate), Math.round(n * 0.55))],
    segments: segments.map((s, i) => (i === 4 ? { ...s, end: sampleIndex(n) } : s)),
    notes,
    suggestions: suggestions(reviewed),
    selected: reviewed[6] ?? null,
    caret: (reviewed[6] ?? 0) + Math.round(0.42 * rate),
    pendingSpan: null,
    axis,
  };
}

/** Detected marks with every kind of mistake near the start, then one in some thirty. */
function mistaken(beats: Int32Array, rate: number): number[] {
  const out: number[] = [];
  beats.forEach((beat, k) => {
    const kind = k < 24 ? k : k % 97;
    if (kind === 4 || kind === 61) return;
    if (kind === 7 || kind === 80) out.push(beat + Math.round(0.26 * rate));
    else if (kind === 9) out.push(beat + Math.round(0.028 * rate));
    else out.push(beat);
    if (kind === 11 || kind === 33) out.push(beat + Math.round(0.31 * rate));
  });
  return out;
}

function suggestions(beats: Int32Array): StripRecorder['suggestions'] {
  if (beats.length < 20) return [];
  const between = (k: number) => Math.round((beats[k]! + beats[k + 1]!) / 2);
  return [
    { kind: 'insert', at: between(1) },
    { kind: 'move', from: beats[14]!, at: beats[14]! - Math.round((beats[15]! - beats[14]!) * 0.2) },
    { kind: 'delete', at: beats[16]! },
  ];
}
