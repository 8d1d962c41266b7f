import type { SampledEntry } from '../marks/sampling';
import type { Span } from '../units';
import type { CountStretch } from './count';
import type { LaidOutPlan } from './plan';
import type { Step } from './population';

/** What the steps follow from. */
export interface Reviewed {
  readonly entries: readonly SampledEntry[];
  /** Stretches that need no eye: nothing was recorded in them. They are known before the first draw. */
  readonly withoutSignal: readonly number[];
  /** Stretches looked at in full and not in the log as such: known since, after all that is. */
  readonly lookedAt: readonly number[];
}

/**
 * The steps of a sampled review. Drawn stretches count in the hidden order, whichever of those on one page was finished
 * first: one whose forerunners are neither reviewed nor skipped nor known waits for them. Null when an interval cannot be
 * judged anywhere.
 */
export function stepsOf(laidOut: LaidOutPlan, reviewed: Reviewed, count: CountStretch): Step[] | null {
  const line = new Line(laidOut);
  for (const i of reviewed.withoutSignal) line.know(i);
  for (const entry of reviewed.entries) {
    const i = laidOut.places.get(entry.start);
    // One of another plan.
    if (i === undefined || laidOut.stretches[i]!.end !== entry.end) continue;
    if (entry.drawn) line.draw(i, entry.outcome === 'skipped');
    else if (entry.outcome === 'reviewed') line.know(i);
  }
  // What is about to be shown counts once it is in the log: until then it may be on the screen, half reviewed.
  const shown = new Set(nextDrawn(laidOut, line.done, pageStretches));
  for (const i of reviewed.lookedAt) if (!shown.has(i)) line.know(i);
  return counted(line.steps, laidOut.stretches, count);
}

/** Stretches of the sample on one page, at most. */
export const pageStretches = 8;

/** The stretches that the sample shows next: the first `most` of the order that are neither known nor dealt with. */
export function nextDrawn({ order }: LaidOutPlan, done: ReadonlySet<number>, most: number): number[] {
  const next: number[] = [];
  for (const i of order) {
    if (next.length === most) break;
    if (!done.has(i)) next.push(i);
  }
  return next;
}

type Taken = Pick<Step, 'stretch' | 'kind'>;

class Line {
  private readonly order: Int32Array;
  /** Place in the order up to which all stretches are dealt with. */
  private at = 0;
  readonly done = new Set<number>();
  private readonly waiting = new Map<number, 'drawn' | 'skipped'>();
  readonly steps: Taken[] = [];

  constructor({ order }: LaidOutPlan) {
    this.order = order;
  }

  know(stretch: number): void {
    if (this.waiting.has(stretch)) {
      // A skipped one that was looked at after all counts as drawn, in its place.
      this.waiting.set(stretch, 'drawn');
    } else this.take(stretch, 'known');
    this.advance();
  }

  draw(stretch: number, skipped: boolean): void {
    if (this.done.has(stretch)) {
      this.review(stretch);
      return;
    }
    this.waiting.set(stretch, skipped ? 'skipped' : 'drawn');
    this.advance();
  }

  private review(stretch: number): void {
    const i = this.steps.findIndex(s => s.stretch === stretch && s.kind === 'skipped');
    if (i >= 0) this.steps[i] = { stretch, kind: 'drawn' };
  }

  private take(stretch: number, kind: Step['kind']): void {
    if (this.done.has(stretch)) {
      this.review(stretch);
      return;
    }
    this.done.add(stretch);
    this.steps.push({ stretch, kind });
  }

  private advance(): void {
    for (; this.at < this.order.length; this.at++) {
      const next = this.order[this.at]!;
      const kind = this.waiting.get(next);
      if (kind && !this.done.has(next)) this.take(next, kind);
      if (!this.done.has(next)) return;
      this.waiting.delete(next);
    }
  }
}

function counted(taken: readonly Taken[], stretches: readonly Span[], count: CountStretch): Step[] | null {
  const steps: Step[] = [];
  for (const { stretch, kind } of taken) {
    const counts = kind === 'skipped' ? { errors: 0, intervals: 0 } : count(stretches[stretch]!);
    if (!counts) return null;
    steps.push({ stretch, kind, ...counts });
  }
  return steps;
}
