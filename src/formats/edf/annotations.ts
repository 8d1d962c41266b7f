import type { Marks } from '../../core/marks/markset';
import { marksFrom } from '../../core/marks/markset';
import { median } from '../../core/moments';
import type { Segment } from '../../core/recording/recording';
import type { SampleIndex } from '../../core/units';
import { latin1 } from './header';

/**
 * Time-stamped annotation lists (TALs) of EDF+: `+onset[\x15duration]\x14text\x14[text\x14...]\x00`, zero-filled to the
 * end of the channel. Source: Kemp & Olivan 2003, section 2.2.
 */

export interface EdfAnnotation {
  /** Seconds since the first sample of the recording. */
  readonly onsetSeconds: number;
  readonly durationSeconds: number | null;
  readonly text: string;
}

/** Texts this project writes, and understands when reading. */
export const edfTexts = {
  mark: 'R-peak',
  noSignal: 'no signal',
  unreadable: 'unreadable',
  end: 'Recording ends',
  /** Begins each text that says what the file was made from. */
  madeFrom: 'made from:',
} as const;

export const maxAnnotations = 2_000_000;

export interface TalResult {
  /** Onset of the first list, whose first text is empty: the start of the data record. Null when it is missing. */
  readonly recordOnset: number | null;
  /** Whether all bytes made sense. */
  readonly clean: boolean;
}

/** Parses one record's annotation channel, adding what it finds to `out`. Never throws; damage is reported. */
export function parseTals(bytes: Uint8Array, out: EdfAnnotation[]): TalResult {
  let recordOnset: number | null = null;
  let at = 0;
  for (let first = true; at < bytes.length && bytes[at] !== 0; first = false) {
    const end = bytes.indexOf(0, at);
    const stop = end < 0 ? bytes.length : end;
    const head = bytes.indexOf(0x14, at);
    if (head < 0 || head >= stop) return { recordOnset, clean: false };
    const stamp = parseStamp(bytes.subarray(at, head));
    if (stamp === null) return { recordOnset, clean: false };
    if (first && (bytes[head + 1] === 0x14 || head + 1 >= stop)) recordOnset = stamp.onset;
    addTexts(bytes, head + 1, stop, stamp, out);
    at = stop + 1;
  }
  return { recordOnset, clean: true };
}

interface Stamp {
  onset: number;
  duration: number | null;
}

function parseStamp(bytes: Uint8Array): Stamp | null {
  const [onset, duration, more] = latin1(bytes).split('\x15');
  if (onset === undefined || more !== undefined || !/^[+-]\d+(\.\d*)?$/.test(onset)) return null;
  if (duration === undefined || duration === '') return { onset: Number(onset), duration: null };
  return /^\d+(\.\d*)?$/.test(duration) ? { onset: Number(onset), duration: Number(duration) } : null;
}

const utf8 = new TextDecoder('utf-8', { fatal: true });

function addTexts(bytes: Uint8Array, from: number, stop: number, stamp: Stamp, out: EdfAnnotation[]): void {
  for (let at = from; at < stop; ) {
    const next = bytes.indexOf(0x14, at);
    const end = next < 0 || next > stop ? stop : next;
    if (end > at && out.length < maxAnnotations) {
      const text = decodeText(bytes.subarray(at, end));
      out.push({ onsetSeconds: stamp.onset, durationSeconds: stamp.duration, text });
    }
    at = end + 1;
  }
}

/** UTF-8 by the standard; some recorders write Latin-1. */
function decodeText(bytes: Uint8Array): string {
  try {
    return utf8.decode(bytes);
  } catch {
    return latin1(bytes);
  }
}

export type AnnotationUse = 'marks' | 'segments' | 'gaps' | 'end' | 'none';

/** All annotations of one text, and what they look like. */
export interface AnnotationGroup {
  readonly text: string;
  readonly count: number;
  readonly medianDurationSeconds: number | null;
  readonly use: AnnotationUse;
  readonly why: string;
}

const saysOrigin = ({ text }: EdfAnnotation) => text.startsWith(edfTexts.madeFrom);

const beatText = /^(r|n|qrs|beat|heart ?beat|normal|normal beat|r[- ]?(peak|wave))$/i;

/** Groups by text in order of first appearance and says what each group looks like. */
export function groupAnnotations(annotations: readonly EdfAnnotation[]): AnnotationGroup[] {
  const byText = new Map<string, EdfAnnotation[]>();
  for (const a of annotations) {
    if (saysOrigin(a)) continue;
    const list = byText.get(a.text);
    if (list) list.push(a);
    else byText.set(a.text, [a]);
  }
  return [...byText].map(([text, list]) => describeGroup(text, list));
}

function describeGroup(text: string, list: readonly EdfAnnotation[]): AnnotationGroup {
  const durations = list.map(a => a.durationSeconds ?? 0);
  const duration = median(durations);
  const group = (use: AnnotationUse, why: string): AnnotationGroup => {
    return { text, count: list.length, medianDurationSeconds: duration > 0 ? duration : null, use, why };
  };
  if (text === edfTexts.noSignal) return group('gaps', 'its text says that nothing was recorded');
  if (text === edfTexts.end) return group('end', 'its text says where the recording ends');
  if (text === edfTexts.unreadable) return group('none', 'unreadable spans belong to a review, not to the recording');
  if (duration <= 0.2 && beatText.test(text)) return group('marks', 'its text names a beat');
  if (duration >= 5) return group('segments', `it lasts ${duration.toFixed(0)} s in the median`);
  return group('none', 'its text names no beat, and it is shorter than 5 s');
}

/**
 * Groups whose text names no beat, but whose places could be beats: they stand where the named beats leave room, or, with
 * no named beats at all, come as unevenly and as often as beats do. A clock's tick or a stimulus is even, so it is none.
 */
function couldBeBeats(groups: readonly AnnotationGroup[], annotations: readonly EdfAnnotation[]): AnnotationGroup[] {
  const onsets = (texts: ReadonlySet<string>) =>
    annotations.flatMap(a => (texts.has(a.text) ? [a.onsetSeconds] : [])).sort((a, b) => a - b);
  const short = (g: AnnotationGroup) => g.use === 'none' && (g.medianDurationSeconds ?? 0) <= 0.2;
  const beats = onsets(new Set(groups.filter(g => g.use === 'marks').map(g => g.text)));
  return groups.filter(g => {
    if (!short(g) || g.text === edfTexts.unreadable) return false;
    const own = onsets(new Set([g.text]));
    return beats.length >= 10 ? fillsIn(own, beats) : looksLikeBeats(own);
  });
}

/** Most stand at least 0.2 s from every beat and between two that are too far apart for none to be missing. */
function fillsIn(own: readonly number[], beats: readonly number[]): boolean {
  const usual = median(beats.slice(1).map((b, i) => b - beats[i]!));
  let at = 0;
  let fits = 0;
  for (const t of own) {
    while (at < beats.length && beats[at]! < t) at++;
    const before = at > 0 ? t - beats[at - 1]! : Number.POSITIVE_INFINITY;
    const after = at < beats.length ? beats[at]! - t : Number.POSITIVE_INFINITY;
    if (before >= 0.2 && after >= 0.2 && before + after > 1.3 * usual) fits++;
  }
  return fits >= 0.8 * own.length;
}

/** Steps of 0.25 to 2.5 s that vary by more than 0.5 %, as no heart is as even as a clock (common practice). */
function looksLikeBeats(own: readonly number[]): boolean {
  if (own.length < 20) return false;
  const steps = own.slice(1).map((t, i) => t - own[i]!);
  const middle = median(steps);
  const spread = median(steps.map(s => Math.abs(s - middle)));
  return middle >= 0.25 && middle <= 2.5 && spread > 0.005 * middle;
}

/** Which texts to take as what; a text in neither list is left out. Without a choice the groups' own guess counts. */
export interface AnnotationChoice {
  readonly marksTexts?: readonly string[];
  readonly segmentTexts?: readonly string[];
}

export interface FromAnnotations {
  readonly marks: Marks | null;
  readonly segments: readonly Segment[];
  readonly understood: readonly string[];
  readonly warnings: readonly string[];
  /** Each text, how often it stands there and what it was taken for. */
  readonly groups: readonly AnnotationGroup[];
}

/** Turns annotations into detected marks and segments of a recording of `sampleCount` samples at `samplingRateHz`. */
export function fromAnnotations(
  annotations: readonly EdfAnnotation[],
  clock: { readonly samplingRateHz: number; readonly sampleCount: number },
  choice: AnnotationChoice = {},
): FromAnnotations {
  const groups = groupAnnotations(annotations);
  const use = new Map(groups.map(g => [g.text, chosenUse(g, choice)] as const));
  const taken = (wanted: AnnotationUse) => annotations.filter(a => use.get(a.text) === wanted);
  const index = (seconds: number) => Math.floor(seconds * clock.samplingRateHz + 0.5);
  const beats = taken('marks').map(a => index(a.onsetSeconds));
  const inside = beats.filter(b => b >= 0 && b < clock.sampleCount);
  const segments = taken('segments').map(a => clip(a, index, clock.sampleCount));
  const kept = segments.filter(s => s.end > s.start).sort((a, b) => a.start - b.start || a.end - b.end);
  const marks = marksFrom(inside);
  const warnings: string[] = [];
  const warn = (n: number, text: string) => n > 0 && warnings.push(`${n} ${text}`);
  warn(beats.length - inside.length, 'beat annotations lie outside the recording and are left out.');
  warn(inside.length - marks.length, 'beat annotations repeat another at the same sample.');
  warn(segments.length - kept.length, 'segment annotations lie outside the recording and are left out.');
  return {
    marks: beats.length > 0 ? marks : null,
    segments: kept,
    understood: [...groups.map(g => sayUse(g, use)), ...originInWords(annotations)],
    warnings: [...warnings, ...(choice.marksTexts ? [] : askAbout(groups, annotations))],
    groups: groups.map(g => ({ ...g, use: use.get(g.text)! })),
  };
}

/** What a file that was written here says of itself. */
function originInWords(annotations: readonly EdfAnnotation[]): string[] {
  const texts = annotations.filter(saysOrigin).map(a => a.text.slice(edfTexts.madeFrom.length).trim());
  const lines = texts
    .join('; ')
    .replaceAll('; …', '')
    .replace(/\.(?=; |$)/g, '');
  return texts.length === 0 ? [] : [`The file says what it was made from: ${lines}.`];
}

function askAbout(groups: readonly AnnotationGroup[], annotations: readonly EdfAnnotation[]): string[] {
  const possible = couldBeBeats(groups, annotations);
  const names = possible.map(g => `"${g.text}" (${g.count})`).join(', ');
  if (possible.length === 0) return [];
  return [`Annotations ${names} could be beats as well and are left out: say which labels are beats.`];
}

function chosenUse(group: AnnotationGroup, choice: AnnotationChoice): AnnotationUse {
  if (group.use === 'gaps' || group.use === 'end') return group.use;
  if (choice.marksTexts?.includes(group.text)) return 'marks';
  if (choice.segmentTexts?.includes(group.text)) return 'segments';
  if (group.use === 'segments' && choice.segmentTexts === undefined) return 'segments';
  return choice.marksTexts || choice.segmentTexts ? 'none' : group.use;
}

function sayUse(group: AnnotationGroup, use: ReadonlyMap<string, AnnotationUse>): string {
  const chosen = use.get(group.text)!;
  const words = { marks: 'detected marks', segments: 'segments', gaps: 'gaps', end: 'the end', none: 'nothing' };
  const why = chosen === group.use ? group.why : 'as asked';
  const read = group.count === 1 ? 'is read' : 'are read';
  return `${group.count} ${group.count === 1 ? 'annotation' : 'annotations'} "${group.text}" ${read} as ${words[chosen]}: ${why}.`;
}

function clip(a: EdfAnnotation, index: (seconds: number) => number, sampleCount: number): Segment {
  const start = Math.min(sampleCount, Math.max(0, index(a.onsetSeconds)));
  const end = Math.min(sampleCount, Math.max(0, index(a.onsetSeconds + (a.durationSeconds ?? 0))));
  return { name: a.text, start: start as SampleIndex, end: end as SampleIndex };
}

/** Annotations for marks and segments, the reverse of `fromAnnotations`. */
export function toAnnotations(
  marks: Marks | null,
  segments: readonly Segment[],
  samplingRateHz: number,
): EdfAnnotation[] {
  const beats = Array.from(marks ?? [], m => ({
    onsetSeconds: m / samplingRateHz,
    durationSeconds: null,
    text: edfTexts.mark,
  }));
  const stretches = segments.map(s => ({
    onsetSeconds: s.start / samplingRateHz,
    durationSeconds: (s.end - s.start) / samplingRateHz,
    text: s.name,
  }));
  return [...beats, ...stretches];
}
