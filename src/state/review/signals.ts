import { firstEndingAfter } from '../../core/marks/spans';
import { type Columns, columns, createColumns, needsRaw, type RawStretch } from '../../core/recording/columns';
import { type DisplayFilters, displaySections, filterZeroPhase, marginSamples } from '../../core/recording/filters';
import type { Pyramid } from '../../core/recording/pyramid';
import type { Lead, LeadSamples, Recording, SampleArray } from '../../core/recording/recording';
import type { Span } from '../../core/units';

/** One lead as the strip reads it: stored words behind a cache, and the pyramid for whatever is wider. */
export interface LeadSource {
  readonly lead: Lead;
  readonly samples: LeadSamples;
  readonly pyramid: Pyramid;
}

/** By the place of the lead in its recording; one that is not stored leaves its place empty. */
export type StoredLeads = readonly (LeadSource | undefined)[];

export type Shown = 'exact' | 'coarse' | 'absent';

export interface Signals {
  /** Fills columns in mV for `[startSeconds, endSeconds)`; what is not in memory is fetched and announced to subscribers. */
  columns(
    recordingId: string,
    lead: number,
    startSeconds: number,
    endSeconds: number,
    count: number,
    out: { min: Float32Array; max: Float32Array },
    filters: DisplayFilters,
  ): Shown;
  /** Words `[start, end)` of a lead if they are in memory, else null (and they are fetched). */
  peek(recordingId: string, lead: number, start: number, end: number): SampleArray | null;
  read(recordingId: string, lead: number, start: number, end: number): Promise<SampleArray>;
  source(recordingId: string, lead: number): LeadSource | undefined;
  replace(recordingId: string, leads: StoredLeads): void;
  /** Called when words have arrived that were asked for in vain. */
  subscribe(listener: () => void): () => void;
}

/** Wider than this the strip shows the stored signal even with filters on, and says so. */
const widestFilteredSamples = 300_000;

export function createSignals(recordings: readonly Recording[]): Signals {
  const sources = new Map<string, StoredLeads>();
  const gaps = new Map(recordings.map(r => [r.id, r] as const));
  const listeners = new Set<() => void>();
  let scratch = createColumns(4096);
  const announce = () => {
    for (const l of listeners) l();
  };
  const source = (id: string, lead: number) => sources.get(id)?.[lead];
  const peek = (id: string, lead: number, start: number, end: number): SampleArray | null => {
    const words = source(id, lead)?.samples.read(start, end);
    if (!words) return null;
    if (!(words instanceof Promise)) return words;
    // What could not be read stays coarse; the page says why when it opens the session.
    words.then(announce, () => undefined);
    return null;
  };
  /** Whether the window lies in a part of the lead that is still being read. */
  const toCome = (id: string, now: Lead, lead: number, endSeconds: number) => {
    const whole = gaps.get(id)?.leads[lead]?.sampleCount ?? 0;
    return now.sampleCount < whole && endSeconds * now.samplingRateHz > now.sampleCount;
  };
  return {
    source,
    peek,
    read: async (id, lead, start, end) => {
      const found = source(id, lead);
      if (!found) throw new RangeError(`no lead ${lead} in ${id}`);
      return found.samples.read(start, end);
    },
    replace(id, leads) {
      sources.set(id, leads);
      announce();
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    columns(id, lead, startSeconds, endSeconds, count, out, filters) {
      out.min.fill(Number.NaN, 0, count);
      out.max.fill(Number.NaN, 0, count);
      const found = source(id, lead);
      if (!found) return 'absent';
      if (scratch.min.length < count) scratch = createColumns(count * 2);
      const window = windowOf(found.lead, startSeconds, endSeconds, count);
      if (!window) return toCome(id, found.lead, lead, endSeconds) ? 'absent' : 'exact';
      const shown = fill(found, window, filters, (a, b) => peek(id, lead, a, b), scratch, out);
      const recording = gaps.get(id);
      if (recording) blankGaps(recording.gaps, recording.samplingRateHz, startSeconds, endSeconds, count, out);
      return shown;
    },
  };
}

/** The part of the asked-for columns that the lead covers, in its samples. */
interface Window {
  readonly firstColumn: number;
  readonly columnCount: number;
  readonly start: number;
  readonly end: number;
}

function windowOf(lead: Lead, startSeconds: number, endSeconds: number, count: number): Window | null {
  const start = Math.round(startSeconds * lead.samplingRateHz);
  const width = (Math.round(endSeconds * lead.samplingRateHz) - start) / count;
  if (!(width > 0)) return null;
  const first = Math.max(0, Math.ceil(-start / width));
  const last = Math.min(count, Math.ceil((lead.sampleCount - start) / width));
  if (last <= first) return null;
  const end = Math.min(lead.sampleCount, start + last * width);
  return { firstColumn: first, columnCount: last - first, start: start + first * width, end };
}

type Peek = (start: number, end: number) => SampleArray | null;

function fill(
  source: LeadSource,
  window: Window,
  filters: DisplayFilters,
  peek: Peek,
  scratch: Columns,
  out: { min: Float32Array; max: Float32Array },
): Shown {
  const from = Math.max(0, Math.floor(window.start));
  const to = Math.min(source.lead.sampleCount, Math.ceil(window.end));
  const filtered = filterStretch(source.lead, from, to, filters, peek);
  if (filtered) {
    overValues(filtered, from, window, out);
    return 'exact';
  }
  const words = needsRaw(from, to, window.columnCount) ? peek(from, to) : null;
  const raw: RawStretch | null = words && { start: from, words };
  columns(source.pyramid, raw, window.start, window.end, window.columnCount, scratch);
  spread(scratch, source.lead, window, out);
  return raw || !needsRaw(from, to, window.columnCount) ? 'exact' : 'coarse';
}

function filterStretch(lead: Lead, from: number, to: number, filters: DisplayFilters, peek: Peek): Float32Array | null {
  if (to - from > widestFilteredSamples) return null;
  const sections = displaySections(filters, lead.samplingRateHz);
  if (sections.length === 0) return null;
  const margin = marginSamples(sections);
  const first = Math.max(0, from - margin);
  const words = peek(first, Math.min(lead.sampleCount, to + margin));
  if (!words) return null;
  const values = Float32Array.from(words, w => (w - lead.offset) * lead.mvPerUnit);
  filterZeroPhase(values, sections);
  return values.subarray(from - first, to - first);
}

function overValues(values: Float32Array, from: number, w: Window, out: { min: Float32Array; max: Float32Array }) {
  const width = (w.end - w.start) / w.columnCount;
  for (let c = 0; c < w.columnCount; c++) {
    const a = Math.round(w.start + c * width) - from;
    const b = Math.max(a + 1, Math.round(w.start + (c + 1) * width) - from);
    let lo = Number.POSITIVE_INFINITY;
    let hi = Number.NEGATIVE_INFINITY;
    for (let i = Math.max(0, a); i < b && i < values.length; i++) {
      const v = values[i]!;
      if (v < lo) lo = v;
      if (v > hi) hi = v;
    }
    if (lo > hi) continue;
    out.min[w.firstColumn + c] = lo;
    out.max[w.firstColumn + c] = hi;
  }
}

/** Lays the columns found, which may be fewer and wider than asked for, over the columns of the screen, in mV. */
function spread(found: Columns, lead: Lead, w: Window, out: { min: Float32Array; max: Float32Array }): void {
  const width = (w.end - w.start) / w.columnCount;
  const upright = lead.mvPerUnit >= 0;
  for (let c = 0, k = 0; c < w.columnCount; c++) {
    if (found.count === w.columnCount) k = c;
    else {
      const middle = w.start + (c + 0.5) * width;
      while (k < found.count - 1 && found.edges[k + 1]! <= middle) k++;
    }
    if (k >= found.count) break;
    const a = (found.min[k]! - lead.offset) * lead.mvPerUnit;
    const b = (found.max[k]! - lead.offset) * lead.mvPerUnit;
    out.min[w.firstColumn + c] = upright ? a : b;
    out.max[w.firstColumn + c] = upright ? b : a;
  }
}

/** Filler words inside a gap are no signal: nothing is drawn there. */
function blankGaps(
  gaps: readonly Span[],
  rateHz: number,
  startSeconds: number,
  endSeconds: number,
  count: number,
  out: { min: Float32Array; max: Float32Array },
): void {
  const width = (endSeconds - startSeconds) / count;
  for (let g = firstEndingAfter(gaps, startSeconds * rateHz); g < gaps.length; g++) {
    const { start, end } = gaps[g]!;
    if (start / rateHz >= endSeconds) return;
    const a = Math.max(0, Math.ceil((start / rateHz - startSeconds) / width));
    const b = Math.min(count, Math.floor((end / rateHz - startSeconds) / width));
    if (b > a) {
      out.min.fill(Number.NaN, a, b);
      out.max.fill(Number.NaN, a, b);
    }
  }
}

/** What the filters do, in words; '' when none is on. */
export function filterNote(filters: DisplayFilters): string {
  const parts: string[] = [];
  if (filters.baseline) parts.push('baseline');
  if (filters.mainsHz) parts.push(`${filters.mainsHz} Hz mains`);
  if (filters.muscle) parts.push('muscle noise');
  return parts.length === 0 ? '' : `filtered on screen: ${parts.join(', ')}`;
}
