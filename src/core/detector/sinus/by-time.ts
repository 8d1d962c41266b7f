import type { BeatMeasures } from './measures';
import type { NotSinusReason } from './reason';
import type { Timing } from './timing';
import type { SinusTuning } from './tuning';

type Reasons = readonly (NotSinusReason | null)[];

/** `byShape` with reasons by time and P wave where it has none. */
export function withReasonsByTime(measures: BeatMeasures, byShape: Reasons, t: SinusTuning): Reasons {
  const hurried = hurriedBefore(measures.time, t);
  const found = byShape.map((own, k) => {
    // After a beat of another kind comes a pause or a retrograde P wave, which say nothing of the beat.
    if (own !== null || (k > 0 && byShape[k - 1] !== null)) return own;
    return hurried[k]! <= t.hurried && isEarly(measures, k, t)
      ? earlyReason(measures, k, t)
      : lateReason(measures, k, t);
  });
  const isLateNeighbour = (k: number, beside: number) =>
    found[k] === null &&
    found[beside] === 'late, no P wave' &&
    measures.time.before[k]! > t.goesOn &&
    lacksP(measures, k, t.goesOnP, t);
  for (let k = 1; k < found.length; k++) if (isLateNeighbour(k, k - 1)) found[k] = 'late, no P wave';
  for (let k = found.length - 2; k >= 0; k--) if (isLateNeighbour(k, k + 1)) found[k] = 'late, no P wave';
  return found;
}

const isEarly = ({ time }: BeatMeasures, k: number, t: SinusTuning) =>
  1 - time.before[k]! > Math.min(t.early, t.earlyNoP, t.veryEarly);

const lacksP = ({ p }: BeatMeasures, k: number, limit: number, t: SinusTuning) =>
  p.clear[k]! > t.clear && p.size[k]! < limit;

/** Whether the interval before the beat before was no short one. */
const isTimely = ({ before }: Timing, k: number, t: SinusTuning) => k === 0 || before[k - 1]! > t.timely;

function earlyReason(measures: BeatMeasures, k: number, t: SinusTuning): NotSinusReason | null {
  const { time } = measures;
  const early = 1 - time.before[k]!;
  const isAfterUsual = isTimely(time, k, t);
  if (isAfterUsual && early > t.earlyNoP && lacksP(measures, k, t.noP, t)) return 'early, other P wave';
  if (time.irregular[k]! >= t.steady) return null;
  if (isAfterUsual && early > t.veryEarly) return 'early';
  return early > t.early && time.after[k]! > t.pause ? 'early' : null;
}

function lateReason(measures: BeatMeasures, k: number, t: SinusTuning): NotSinusReason | null {
  const { time } = measures;
  const isLate = time.before[k]! - 1 > t.lateNoP && lacksP(measures, k, t.lateP, t);
  return isLate && isTimely(time, k, t) && time.after[k]! > t.lateAfter ? 'late, no P wave' : null;
}

const aroundBeats = 5;
const hurry = 0.1;

/** How many of the five beats before each came early and without a pause after them. */
function hurriedBefore({ before, after }: Timing, t: SinusTuning): Uint8Array {
  const isHurried = before.map((share, k) => (share < 1 - hurry && after[k]! < t.pause ? 1 : 0));
  return Uint8Array.from(before, (_, k) =>
    isHurried.subarray(Math.max(0, k - aroundBeats), k).reduce((a, b) => a + b, 0),
  );
}
