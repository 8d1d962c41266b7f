import type { Change, Operation, SpanList } from '../core/marks/edit';
import { spanOperation } from '../core/marks/edit';
import type { Draft, EditLog, Intent, Replayed } from '../core/marks/log';
import { advance, append, newLog, startReplay, undoDraft } from '../core/marks/log';
import { covers, union } from '../core/marks/spans';
import { type Random, randomFrom } from '../core/random';
import { detectedOf, logHeader } from '../core/review/session';
import type { SampleIndex, Span } from '../core/units';
import { span } from '../core/units';
import type { Slip } from './slips';
import type { TrainingDay, TrainingRecording } from './training-day';

const pageSeconds = 30;

/** What a rater does to one recording, in order of place. */
interface Step {
  readonly at: number;
  readonly intent: Intent;
  readonly marks?: { readonly removed: number[]; readonly added: number[] };
  readonly unreadable?: Span;
}

/** A whole review that ends at the truth, but for the slips given. */
export function finishedReview(
  day: TrainingDay,
  rater: string,
  startedAt: string,
  seed: string,
  slips: readonly Slip[],
): EditLog {
  const writer = new ReviewWriter(day, rater, startedAt, randomFrom(`${seed}/${rater}`));
  for (const r of day.recordings) {
    writer.review(r, stepsFor(r, slips), r.session.recording.sampleCount);
  }
  writer.write('', 'finish', []);
  return writer.log;
}

/** The same rater half way: two activities of the first recording signed off, the third begun. */
export function halfReview(day: TrainingDay, rater: string, startedAt: string, seed: string): EditLog {
  const writer = new ReviewWriter(day, rater, startedAt, randomFrom(`${seed}/${rater}`));
  const r = day.recordings[0]!;
  const third = r.session.segments[2]!;
  writer.review(r, stepsFor(r, []), third.start + Math.floor((third.end - third.start) / 2));
  return writer.log;
}

/** The edits that turn the detected marks of one recording into the truth, less the rater's slips. */
function stepsFor(r: TrainingRecording, slips: readonly Slip[]): Step[] {
  const own = slips.filter(s => s.recording === r.session.recording.id);
  const left = new Set(own.flatMap(s => (s.planted ? [s.planted] : [])));
  const steps: Step[] = [];
  for (const p of r.truth.plant.planted) {
    if (left.has(p)) continue;
    if (p.mark === null) steps.push({ at: p.beat!, intent: 'insert', marks: { removed: [], added: [p.beat!] } });
    else if (p.beat === null) steps.push({ at: p.mark, intent: 'delete', marks: { removed: [p.mark], added: [] } });
    else steps.push({ at: p.mark, intent: 'move', marks: { removed: [p.mark], added: [p.beat] } });
  }
  for (const { beat, mark } of r.truth.plant.jittered) {
    steps.push({ at: mark, intent: 'move', marks: { removed: [mark], added: [beat] } });
  }
  for (const s of r.truth.unreadable) {
    const wider = own.find(slip => slip.kind === 'span wider' && slip.at === s.start);
    steps.push({ at: s.start, intent: 'unreadable', unreadable: wider?.span ?? s });
  }
  for (const slip of own) {
    if (slip.kind === 'stray mark')
      steps.push({ at: slip.at, intent: 'insert', marks: { removed: [], added: [slip.at] } });
  }
  return steps.sort((a, b) => a.at - b.at);
}

class ReviewWriter {
  log: EditLog;
  private state: Replayed;
  private clockMs: number;

  constructor(
    day: TrainingDay,
    rater: string,
    startedAt: string,
    private readonly random: Random,
  ) {
    this.log = newLog(logHeader(day.session, rater));
    this.state = startReplay(detectedOf(day.session));
    this.clockMs = Date.parse(startedAt);
  }

  write(recording: string, intent: Intent, change: Change): void {
    this.add({ at: this.now(), recording, intent, change });
  }

  private add(draft: Draft): void {
    const { log, entry } = append(this.log, draft);
    this.log = log;
    this.state = advance(this.state, entry);
  }

  /** Looks at page after page up to `end`, edits, accepts what is right, and signs off each activity passed. */
  review(r: TrainingRecording, steps: readonly Step[], end: number): void {
    const { recording, segments } = r.session;
    const page = pageSeconds * recording.samplingRateHz;
    let next = 0;
    for (let from = 0; from < end; from += page) {
      const here = span(from, Math.min(from + page, end));
      this.addSpan(recording.id, 'look', 'seen', here, 12);
      for (; next < steps.length && steps[next]!.at < here.end; next++) this.edit(recording.id, steps[next]!);
      this.remarks(r, here);
      this.addSpan(recording.id, 'accept', 'accepted', here, 3);
      for (const s of segments) {
        if (s.end <= here.end && s.end > here.start) this.signOff(recording.id, s.name);
      }
    }
  }

  private addSpan(id: string, intent: Intent, list: SpanList, added: Span, seconds: number): void {
    this.pause(seconds);
    const before = this.state.recordings.get(id)![list];
    this.write(id, intent, [spanOperation(list, before, union(before, [added]))]);
  }

  private edit(id: string, step: Step): void {
    this.pause(2);
    if (step.unreadable) {
      this.addSpan(id, 'unreadable', 'unreadable', step.unreadable, 1);
      return;
    }
    const change: Operation = {
      op: 'marks',
      removed: step.marks!.removed as SampleIndex[],
      added: step.marks!.added as SampleIndex[],
    };
    // Now and then the hand slips, and the rater takes it back at once.
    if (step.intent === 'move' && this.random.uniform() < 0.12) {
      this.write(id, 'delete', [{ op: 'marks', removed: change.removed, added: [] }]);
      this.pause(1);
      this.add(undoDraft(this.log, this.state, this.now())!);
      this.pause(1);
    }
    this.write(id, step.intent, [change]);
  }

  /** A comment on the first unreadable stretch, and a flag at the first wide beat, as the study's protocol may ask. */
  private remarks(r: TrainingRecording, here: Span): void {
    const { id } = r.session.recording;
    const has = (kind: string) => this.state.recordings.get(id)!.notes.some(n => n.kind === kind);
    const lost = r.truth.unreadable.find(s => s.start >= here.start && s.end <= here.end);
    if (lost && !has('comment')) {
      this.pause(9);
      const note = {
        id: `${id}-comment-1`,
        kind: 'comment' as const,
        ...lost,
        text: 'Strap knocked? Nothing to read here.',
      };
      this.write(id, 'comment', [{ op: 'note', before: null, after: note }]);
    }
    const rate = r.session.recording.samplingRateHz;
    const odd = r.truth.ecg.beats.find((beat, k) => this.oddBeat(r, k) && beat >= here.start && beat < here.end);
    if (odd !== undefined && !has('flag')) {
      this.pause(7);
      const place = span(odd - Math.round(0.3 * rate), odd + Math.round(0.5 * rate));
      const note = { id: `${id}-flag-1`, kind: 'flag' as const, ...place, text: 'Please look at this beat.' };
      this.write(id, 'flag', [{ op: 'note', before: null, after: note }]);
    }
  }

  /** A wide beat; for volunteers without any, the first beat after a pause in the marks is what catches the eye. */
  private oddBeat({ truth }: TrainingRecording, k: number): boolean {
    const { classes, beats, samplingRateHz } = truth.ecg;
    if (k < 1 || covers(truth.unreadable, beats[k]!)) return false;
    return classes.includes(1) ? classes[k] === 1 : beats[k]! - beats[k - 1]! > 1.02 * samplingRateHz;
  }

  private signOff(id: string, segment: string): void {
    this.pause(3);
    const at = this.now();
    this.add({
      at,
      recording: id,
      intent: 'sign off',
      change: [{ op: 'signOff', before: null, after: { segment, at, reason: null } }],
    });
  }

  private pause(seconds: number): void {
    this.clockMs += Math.round(1000 * seconds * this.random.between(0.5, 1.6));
  }

  private now(): string {
    return new Date(this.clockMs).toISOString();
  }
}
