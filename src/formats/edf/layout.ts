import type { LeadSamples, Recording } from '../../core/recording/recording';
import type { EdfAnnotation } from './annotations';
import { edfTexts } from './annotations';
import { nearestSample } from './records';

/** What goes into an EDF+ file. */
export interface EdfContent {
  readonly recording: Recording;
  /** One per lead of the recording; none at all for a file of annotations only. */
  readonly leads: readonly LeadSamples[];
  readonly annotations: readonly EdfAnnotation[];
  /** Participant code for the patient field, without spaces; 'X' when absent. Never a name. */
  readonly participant?: string;
}

/** How many samples of each lead make a record, and where each record begins. */
export interface RecordPlan {
  readonly recordSeconds: string;
  readonly samplesPerRecord: readonly number[];
  /** Rates as a reader will work them out from the two above: of each lead, and of the recording's clock. */
  readonly leadRatesHz: readonly number[];
  readonly clockHz: number;
  /** Start of each record in samples of the recording's rate. */
  readonly starts: Float64Array;
  readonly discontinuous: boolean;
  readonly warnings: readonly string[];
}

/** The longest data record the standard recommends. */
const largestRecordBytes = 61_440;

/** Plain decimal text of at most `width` characters, never in exponent form. */
export function decimalText(value: number, width: number): string {
  for (let digits = width; digits >= 0; digits--) {
    const text = value.toFixed(digits);
    const short = digits > 0 ? text.replace(/\.?0+$/, '') : text;
    if (short.length <= width) return short === '-0' ? '0' : short;
  }
  throw new RangeError(`${value} does not fit in ${width} characters`);
}

/** Onset text: seconds to the microsecond, trailing zeros off. */
export function onsetText(seconds: number): string {
  const text = Math.abs(seconds)
    .toFixed(6)
    .replace(/\.?0+$/, '');
  return `${seconds < 0 && text !== '0' ? '-' : '+'}${text}`;
}

export function planRecords(recording: Recording): RecordPlan {
  const rates = recording.leads.map(l => l.samplingRateHz);
  if (rates.length === 0) {
    return {
      recordSeconds: '0',
      samplesPerRecord: [],
      leadRatesHz: [],
      clockHz: recording.samplingRateHz,
      starts: new Float64Array(1),
      discontinuous: false,
      warnings: [],
    };
  }
  const { text, samples, exact } = recordLength(rates, recording.sampleCount / recording.samplingRateHz);
  const leadRatesHz = samples.map(n => n / Number(text));
  const clockHz = leadRatesHz[Math.max(0, rates.indexOf(recording.samplingRateHz))]!;
  const length = Number(text) * clockHz;
  const starts = recordStarts(recording, length);
  const discontinuous = starts.some((s, i) => i > 0 && s - starts[i - 1]! > length + 0.5);
  const warnings = exact ? [] : ['Sampling rates are rounded to what a record duration of 8 characters can say.'];
  return { recordSeconds: text, samplesPerRecord: samples, leadRatesHz, clockHz, starts, discontinuous, warnings };
}

/** The shortest of 1, 2, 4, 5, 8, 10 ... s in which every lead has a whole number of samples, if it makes a short enough record. */
function recordLength(
  rates: readonly number[],
  totalSeconds: number,
): { text: string; samples: number[]; exact: boolean } {
  const whole = (x: number) => Math.abs(x - Math.round(x)) < 1e-6;
  const fits = (d: number) => 2 * rates.reduce((sum, r) => sum + r * d, 0) <= largestRecordBytes;
  for (const d of [1, 2, 4, 5, 8, 10, 0.5, 0.25, 0.2, 0.125, 0.1, 16, 20, 25, 40, 50, 100, 0.05, 0.01]) {
    if ((d <= totalSeconds || d <= 1) && fits(d) && rates.every(r => whole(r * d) && r * d >= 1)) {
      return { text: decimalText(d, 8), samples: rates.map(r => Math.round(r * d)), exact: true };
    }
  }
  const fastest = Math.max(...rates);
  const text = decimalText(Math.max(1, Math.round(fastest)) / fastest, 8);
  const samples = rates.map(r => Math.max(1, Math.round(r * Number(text))));
  return { text, samples, exact: samples.every((n, i) => Math.abs(n / Number(text) / rates[i]! - 1) < 1e-9) };
}

/** A record that would begin in a gap begins at the gap's end instead; a gap at the very end stays as filler. */
function recordStarts(recording: Recording, length: number): Float64Array {
  const starts: number[] = [];
  let gap = 0;
  for (let run = 0, n = 0, at = 0; at < recording.sampleCount - 1e-6; at = run + n * length) {
    while (gap < recording.gaps.length && recording.gaps[gap]!.end <= at) gap++;
    const g = recording.gaps[gap];
    if (g && g.start <= at + 1e-6 && g.end < recording.sampleCount && starts.length > 0) {
      run = at = g.end;
      n = 0;
    }
    starts.push(at);
    n++;
  }
  return Float64Array.from(starts.length > 0 ? starts : [0]);
}

/** The caller's annotations plus those that keep gaps and the true end when records are padded. */
export function allAnnotations(content: EdfContent, plan: RecordPlan): EdfAnnotation[] {
  const { recording } = content;
  const rate = plan.clockHz;
  const own = content.annotations
    .filter(a => a.text !== edfTexts.noSignal && a.text !== edfTexts.end)
    .map(a => onClock(a, recording.samplingRateHz / rate));
  if (recording.leads.length > 0) {
    for (const g of recording.gaps) {
      own.push({ onsetSeconds: g.start / rate, durationSeconds: (g.end - g.start) / rate, text: edfTexts.noSignal });
    }
    const lastEnd = plan.starts.at(-1)! + Number(plan.recordSeconds) * rate;
    if (lastEnd - recording.sampleCount > 0.5) {
      own.push({ onsetSeconds: recording.sampleCount / rate, durationSeconds: null, text: edfTexts.end });
    }
  }
  return own.sort((a, b) => onsetKey(a) - onsetKey(b) || compareTexts(orderOf(a.text), orderOf(b.text)));
}

const compareTexts = (a: string, b: string) => (a < b ? -1 : a > b ? 1 : 0);

/** What a file was made from stays in the order given: a long line of it goes on in the next annotation. */
const orderOf = (text: string) => (text.startsWith(edfTexts.madeFrom) ? edfTexts.madeFrom : text);

/** Times stay on their samples when the rate had to be rounded. */
function onClock(a: EdfAnnotation, stretch: number): EdfAnnotation {
  if (stretch === 1) return a;
  const durationSeconds = a.durationSeconds === null ? null : a.durationSeconds * stretch;
  return { ...a, onsetSeconds: a.onsetSeconds * stretch, durationSeconds };
}

/** Order by the onset as it is written, and the end after everything else. */
function onsetKey(a: EdfAnnotation): number {
  return a.text === edfTexts.end ? Number.MAX_VALUE : Math.round(a.onsetSeconds * 1e6);
}

/** First sample of a lead in the record that starts at `seconds`, as the reader will place it. */
export function leadStart(seconds: number, samplingRateHz: number): number {
  return nearestSample(Number(onsetText(seconds)), samplingRateHz);
}
