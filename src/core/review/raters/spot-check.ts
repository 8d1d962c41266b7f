import type { Change, RecordingReview, SpotCheck } from '../../marks/edit';
import type { SpotCheckPlanFact } from '../../marks/facts';
import { type Draft, latestFact, type Replayed } from '../../marks/log';
import { firstEndingAfter, subtract, union } from '../../marks/spans';
import { randomFromNumber } from '../../random';
import type { Interval } from '../../score/result';
import { wilsonInterval } from '../../score/wilson';
import type { SampleIndex, Span } from '../../units';
import type { Comparison } from './compare';

/** A random share of the stretches on which two raters agree, looked at once more by the supervisor. */
export type SpotCheckPlan = Omit<SpotCheckPlanFact, 'kind'>;

export const defaultSpotCheck: SpotCheckPlan = { share: 0.1, seed: 1, stretchSeconds: 10 };

/** The entry that states share and seed before the first stretch is looked at. It changes nothing and cannot be undone. */
export function planDraft(at: string, { share, seed, stretchSeconds }: SpotCheckPlan): Draft {
  const fact = { kind: 'spotCheckPlan', share, seed, stretchSeconds } as const;
  return { at, recording: '', intent: 'plan', change: [], fact };
}

/** The plan a log states; the latest when it states several, null when none. */
export function planOf(replayed: Pick<Replayed, 'facts'>): SpotCheckPlan | null {
  const fact = latestFact(replayed, 'spotCheckPlan');
  return fact && { share: fact.share, seed: fact.seed, stretchSeconds: fact.stretchSeconds };
}

/** Whole stretches of each segment that hold no part of any disagreement and are not all gap or unreadable to both. */
export function agreedStretches(comparison: Comparison, stretchSeconds: number): Span[] {
  const { pair, raters, disagreements } = comparison;
  const { gaps, samplingRateHz } = pair.item.recording;
  const length = Math.max(1, Math.round(stretchSeconds * samplingRateHz));
  const disputed = disagreements.flatMap(d => d.territory);
  const blind = union(union(pair.a.unreadable, pair.b.unreadable), gaps);
  const out: Span[] = [];
  for (const segment of raters.input.segments) {
    const agreed = subtract([segment], disputed);
    const readable = subtract([segment], blind);
    for (let start: number = segment.start; start + length <= segment.end; start += length) {
      const end = start + length;
      const around = agreed[firstEndingAfter(agreed, start)];
      const signal = readable[firstEndingAfter(readable, start)];
      if (!around || !signal || around.start > start || around.end < end || signal.start >= end) continue;
      out.push({ start: start as SampleIndex, end: end as SampleIndex });
    }
  }
  return out;
}

/** The stretches to look at: `share` of the agreed ones, rounded up, drawn without replacement, sorted by place. */
export function spotCheckStretches(comparison: Comparison, plan: SpotCheckPlan): Span[] {
  if (!(plan.share >= 0 && plan.share <= 1)) throw new RangeError(`not a share: ${plan.share}`);
  const all = agreedStretches(comparison, plan.stretchSeconds);
  const wanted = Math.ceil(plan.share * all.length - 1e-9);
  const random = randomFromNumber(plan.seed);
  for (let i = 0; i < wanted; i++) {
    const j = i + random.integer(all.length - i);
    [all[i], all[j]] = [all[j]!, all[i]!];
  }
  return all.slice(0, wanted).sort((x, y) => x.start - y.start);
}

/** Records the outcome of one stretch. Where something was changed, the change itself is an entry of its own. */
export function recordOutcome(
  adjudicated: RecordingReview,
  stretch: Span,
  outcome: SpotCheck['outcome'],
): Change | null {
  const before = spotCheckOf(adjudicated, stretch);
  return before?.outcome === outcome ? null : [{ op: 'spotCheck', before, after: { at: stretch.start, outcome } }];
}

export interface SpotCheckReport {
  readonly plan: SpotCheckPlan;
  readonly agreedStretches: number;
  readonly drawn: number;
  readonly checked: number;
  readonly changed: number;
  /** Wilson 95 % interval of the share changed among those checked, a fraction; null when none was checked. */
  readonly changedInterval95: Interval | null;
}

export function spotCheckReport(
  comparison: Comparison,
  plan: SpotCheckPlan,
  adjudicated: RecordingReview,
): SpotCheckReport {
  const drawn = spotCheckStretches(comparison, plan);
  const outcomes = drawn.map(s => outcomeOf(adjudicated, s));
  const checked = outcomes.filter(o => o !== null).length;
  const changed = outcomes.filter(o => o === 'changed').length;
  return {
    plan,
    agreedStretches: agreedStretches(comparison, plan.stretchSeconds).length,
    drawn: drawn.length,
    checked,
    changed,
    changedInterval95: wilsonInterval(changed, checked),
  };
}

export function outcomeOf(adjudicated: RecordingReview, stretch: Span): SpotCheck['outcome'] | null {
  return spotCheckOf(adjudicated, stretch)?.outcome ?? null;
}

function spotCheckOf({ spotChecks }: RecordingReview, stretch: Span): SpotCheck | null {
  return spotChecks.find(s => s.at === stretch.start) ?? null;
}
