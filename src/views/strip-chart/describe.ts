import { has, lowerBound, nearest } from '../../core/marks/markset';
import { covers } from '../../core/marks/spans';
import { Verdict } from '../../core/marks/verdicts';
import { noteText } from '../../core/review/places/evidence';
import { toMs } from '../../core/units';
import { intervalAfter } from './intervals';
import { canBeTaken, type StripRecorder } from './model';
import { leadWords } from './paint/static-layer';
import { wallClock } from './time-scale';

const kept = 'kept';
const unseen = 'not looked at yet';
const plain = new Set([kept, unseen]);

/** The place under the caret in one sentence, for screen readers: what stands there, its intervals, its wave, its surroundings. */
export function describeBeat(recorder: StripRecorder, sample: number): string {
  const parts = [place(recorder, sample), ...intervalWords(recorder, sample), ...amplitude(recorder, sample)];
  return `${[...parts, ...surroundings(recorder, sample)].join('; ')}.`;
}

function place(recorder: StripRecorder, sample: number): string {
  const at = `${(sample / recorder.samplingRateHz).toFixed(3)} s`;
  if (has(recorder.reviewed, sample)) return `Beat at ${at}, ${verdictWords(recorder, sample)}`;
  if (has(recorder.detected, sample)) return `Detected mark at ${at}, ${detectedWords(recorder, sample)}`;
  const near = recorder.reviewed[nearest(recorder.reviewed, sample)];
  if (near === undefined) return `Caret at ${at}, no beats marked`;
  const ms = Math.round(toMs(Math.abs(near - sample), recorder.samplingRateHz));
  return `Caret at ${at}, nearest beat ${ms} ms ${near < sample ? 'before' : 'after'}`;
}

function verdictWords(recorder: StripRecorder, sample: number): string {
  const k = lowerBound(recorder.reviewed, sample);
  const verdict = recorder.verdicts.ofReviewed(k);
  const partner = recorder.detected[recorder.verdicts.detectedOf(k)];
  const shift = partner === undefined ? '' : shiftWords(recorder, sample - partner);
  if (verdict === Verdict.unreadable) return 'in an unreadable stretch';
  if (verdict === Verdict.inserted) return 'inserted';
  if (verdict === Verdict.moved) return `moved ${shift}`;
  if (verdict === Verdict.refined) return `centred, ${shift}`;
  return covers(recorder.accepted, sample) ? kept : unseen;
}

function shiftWords(recorder: StripRecorder, samples: number): string {
  const ms = toMs(Math.abs(samples), recorder.samplingRateHz);
  return `${Math.round(ms)} ms ${samples < 0 ? 'earlier' : 'later'}`;
}

function detectedWords(recorder: StripRecorder, sample: number): string {
  const j = lowerBound(recorder.detected, sample);
  const verdict = recorder.verdicts.ofDetected(j);
  if (verdict === Verdict.removed) return 'removed';
  if (verdict === Verdict.unreadable) return 'in an unreadable stretch';
  const beat = recorder.reviewed[recorder.verdicts.reviewedOf(j)]!;
  return `moved to the beat ${shiftWords(recorder, beat - sample)}`;
}

/** The intervals to both neighbours; what was done to a neighbour is said, that it was kept is not. */
function intervalWords(recorder: StripRecorder, sample: number): string[] {
  if (!has(recorder.reviewed, sample)) return [];
  const k = lowerBound(recorder.reviewed, sample);
  const words = (first: number, neighbour: number, side: string) => {
    const interval = first < 0 ? null : intervalAfter(recorder, first);
    if (interval === null) return [];
    if (interval.rrMs === null) return [`interval ${side} not readable`];
    const done = verdictWords(recorder, recorder.reviewed[neighbour]!);
    const doneWords = plain.has(done) ? '' : `, beat ${side} ${done}`;
    return [`interval ${side} ${Math.round(interval.rrMs)} ms${doneWords}`];
  };
  return [...words(k - 1, k - 1, 'before'), ...words(k, k + 1, 'after')];
}

function amplitude(recorder: StripRecorder, sample: number): string[] {
  const track = recorder.tracks[0];
  if (!track) return [];
  const out = { min: new Float32Array(1), max: new Float32Array(1) };
  const index = Math.round((sample / recorder.samplingRateHz) * track.samplingRateHz);
  const from = index / track.samplingRateHz;
  const state = track.columns(from, from + 1 / track.samplingRateHz, 1, out);
  if (state !== 'exact' || Number.isNaN(out.max[0]!)) return [];
  // Adding 0 makes a rounded -0 a 0.
  const mV = (Number(out.max[0]!.toFixed(2)) + 0).toFixed(2).replace('-', 'minus ');
  return [`${leadWords(track.leadName)} ${mV} mV`];
}

const suggested = { insert: 'add a beat here', move: 'move', delete: 'delete', unreadable: 'unreadable from here' };

function surroundings(recorder: StripRecorder, sample: number): string[] {
  const out: string[] = [];
  const segment = recorder.segments.find(s => s.start <= sample && sample < s.end);
  if (segment) out.push(`segment ${segment.name}`);
  const clock = wallClock(recorder.startedAt, sample / recorder.samplingRateHz);
  if (clock) out.push(`at ${clock}`);
  const note = recorder.notes.find(n => n.start <= sample && sample < Math.max(n.end, n.start + 1));
  const words = note && noteText(note);
  if (note) out.push(words === note.kind ? note.kind : `${note.kind}: ${words}`);
  const suggestion = recorder.suggestions.find(
    g => (g.at === sample || (g.kind === 'move' && g.from === sample)) && canBeTaken(g, recorder.reviewed),
  );
  if (suggestion) out.push(`suggested: ${suggested[suggestion.kind]}`);
  return out;
}
