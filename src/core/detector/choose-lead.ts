import { median } from '../moments';
import type { Lead, Recording, SampleArray } from '../recording/recording';
import { detectBeats } from './detect';

/** What is known of a lead by its header. */
export interface NamedLead {
  readonly name: string;
  readonly samplingRateHz: number;
  readonly fileUnit: string;
}

/** A lead with some of its words, best half a minute or more from where the signal runs. */
export interface LeadStretch extends NamedLead {
  readonly words: SampleArray;
}

export interface ChosenLead {
  readonly index: number;
  /** In words: what speaks for this lead. */
  readonly why: string;
  /** False when another lead is about as likely, or nothing speaks for this one. */
  readonly sure: boolean;
}

/** How far a signal looks like an ECG, each from 0 to 1. */
interface Looks {
  /** Share of RR intervals within a fifth of their median. */
  readonly regular: number;
  /** Mean correlation of beats with their average. */
  readonly alike: number;
  /** Share of the energy of the slope in its steepest tenth: QRS complexes are short and steep. */
  readonly steep: number;
  /** Where the beats are, in s. */
  readonly beats: readonly number[];
}

const saysEcg = /e[ck]g|^(lead[ _-]?)?(i{1,3}|v[1-6]|av[rlf]|ml?[iv]+)$|chest|modified/i;
const saysOther =
  /eeg|emg|eog|eda|gsr|ppg|pleth|spo2|resp|abd|thor|flow|acc|gyro|mag|temp|batt|status|trig|event|marker|count|index|quality|^(fp|[fcpot])[z\d]{1,2}(-[am]\d)?$|^[xyz]$/i;

/**
 * Chooses the lead to review: by its name and unit, by how alike, regular and steep what the detector finds in it is. Names
 * and thresholds are common practice.
 */
export function chooseEcgLead(leads: readonly LeadStretch[]): ChosenLead {
  const scored = leads.map((lead, index) => ({ index, lead, ...scoreOf(lead) }));
  const ranked = [...scored].sort((a, b) => b.score - a.score || a.index - b.index);
  const [top] = ranked;
  const best = top && (scored.find(l => top.score - l.score < 0.5 && ofOneEcg(l, top)) ?? top);
  if (!best) throw new RangeError('there is no lead to choose from');
  const rival = ranked.some(l => l !== best && best.score - l.score < 0.5 && !ofOneEcg(best, l));
  return { index: best.index, why: best.why, sure: leads.length === 1 || (best.score >= 1 && !rival) };
}

/** What was chosen, in a sentence. */
export function leadInWords(chosen: ChosenLead, leads: readonly Pick<NamedLead, 'name'>[]): string {
  const name = leads[chosen.index]!.name || `number ${chosen.index + 1}`;
  return `Of ${leads.length} leads, ${name} is taken as the ECG: ${chosen.why}.`;
}

/** Which words of a lead to look at: 40 s in the middle of the longest stretch without a gap. */
export function judgedStretch(
  recording: Pick<Recording, 'samplingRateHz' | 'sampleCount' | 'gaps'>,
  lead: Pick<Lead, 'samplingRateHz'>,
): [number, number] {
  const edges = [0, ...recording.gaps.flatMap(g => [g.start, g.end]), recording.sampleCount];
  let longest: [number, number] = [0, 0];
  for (let i = 0; i < edges.length; i += 2) {
    if (edges[i + 1]! - edges[i]! > longest[1] - longest[0]) longest = [edges[i]!, edges[i + 1]!];
  }
  const half = 20 * recording.samplingRateHz;
  const middle = (longest[0] + longest[1]) / 2;
  const scale = lead.samplingRateHz / recording.samplingRateHz;
  const at = (sample: number) => Math.round(Math.max(longest[0], Math.min(longest[1], sample)) * scale);
  return [at(middle - half), at(middle + half)];
}

/** Whether a name says that the lead is something other than an ECG. */
export function namesOther(name: string): boolean {
  return saysOther.test(name);
}

/** Two leads of one ECG, by their names or because the same beats are in both: either will do. */
function ofOneEcg(a: Scored, b: Scored): boolean {
  if (saysEcg.test(a.lead.name) && saysEcg.test(b.lead.name)) return true;
  if (!a.looks || !b.looks || namesOther(a.lead.name) || namesOther(b.lead.name)) return false;
  return shareNear(a.looks.beats, b.looks.beats) > 0.9 && shareNear(b.looks.beats, a.looks.beats) > 0.9;
}

/** Share of times that have one of the others within 100 ms. */
function shareNear(times: readonly number[], others: readonly number[]): number {
  let at = 0;
  let near = 0;
  for (const t of times) {
    while (at < others.length - 1 && others[at]! < t - 0.1) at++;
    if (Math.abs(others[at]! - t) <= 0.1) near++;
  }
  return near / times.length;
}

interface Scored {
  readonly lead: NamedLead;
  readonly score: number;
  readonly why: string;
  /** Null where nothing in the lead looks like an ECG. */
  readonly looks: Looks | null;
}

function scoreOf(lead: LeadStretch): Omit<Scored, 'lead'> {
  const reasons: string[] = [];
  const other = saysOther.test(lead.name);
  const named = saysEcg.test(lead.name) && !other ? 2 : other ? -3 : 0;
  if (named > 0) reasons.push(`its name is "${lead.name}"`);
  const voltage = /^[munµμ]?v$/i.test(lead.fileUnit.trim()) ? 0.5 : 0;
  if (voltage > 0) reasons.push(`it is in ${lead.fileUnit}`);
  const looks = looksOf(lead);
  const shape = looks ? looks.regular * looks.alike * looks.steep : 0;
  if (looks && shape > 0.3) {
    reasons.push(`what repeats in it is alike (correlation ${looks.alike.toFixed(2)}), steep and regular`);
  }
  const why = reasons.join(', ') || 'nothing speaks for another';
  return { score: named + voltage + 3 * shape, why, looks: shape > 0.3 ? looks : null };
}

/** Null where the detector does not work or finds fewer than eight beats at 25 to 250 a minute. */
function looksOf({ words, samplingRateHz }: LeadStretch): Looks | null {
  if (!(samplingRateHz >= 50 && samplingRateHz <= 10_000) || words.length < 5 * samplingRateHz) return null;
  const { samples } = detectBeats(words, samplingRateHz);
  const perMinute = (60 * samples.length * samplingRateHz) / words.length;
  if (samples.length < 8 || perMinute < 25 || perMinute > 250) return null;
  const rr = Array.from(samples.subarray(1), (s, i) => s - samples[i]!);
  const middle = median(rr);
  const regular = rr.filter(v => Math.abs(v - middle) <= 0.2 * middle).length / rr.length;
  const alike = beatCorrelation(words, samples, Math.round(0.1 * samplingRateHz));
  return { regular, alike, steep: steepness(words), beats: Array.from(samples, s => s / samplingRateHz) };
}

/** Mean correlation of stretches of `half` samples to either side of the beats with their mean; 0 when below. */
function beatCorrelation(words: SampleArray, beats: ArrayLike<number>, half: number): number {
  const cuts: Float64Array[] = [];
  for (let b = 0; b < beats.length; b++) {
    const from = beats[b]! - half;
    if (from < 0 || from + 2 * half >= words.length) continue;
    cuts.push(centred(words.subarray(from, from + 2 * half + 1)));
  }
  const mean = new Float64Array(2 * half + 1);
  for (const cut of cuts) for (let i = 0; i < mean.length; i++) mean[i]! += cut[i]! / cuts.length;
  const sum = cuts.reduce((total, cut) => total + correlation(cut, mean), 0);
  return cuts.length === 0 ? 0 : Math.max(0, sum / cuts.length);
}

function centred(words: SampleArray): Float64Array {
  let sum = 0;
  for (const w of words) sum += w;
  return Float64Array.from(words, w => w - sum / words.length);
}

function correlation(a: Float64Array, b: Float64Array): number {
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let i = 0; i < a.length; i++) {
    ab += a[i]! * b[i]!;
    aa += a[i]! * a[i]!;
    bb += b[i]! * b[i]!;
  }
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
}

function steepness(words: SampleArray): number {
  const energy = Float64Array.from({ length: words.length - 1 }, (_, i) => (words[i + 1]! - words[i]!) ** 2).sort();
  const total = energy.reduce((a, b) => a + b, 0);
  const top = energy.subarray(Math.floor(0.9 * energy.length)).reduce((a, b) => a + b, 0);
  return total > 0 ? top / total : 0;
}
