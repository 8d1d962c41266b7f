/**
 * Each reason to look at a place: a small function that says how far out of line something is (0 = not at all, 1 =
 * as far as can be) and the sentence a person reads. Ratios and correlations in, nothing else, so each is checked alone.
 */
export type ReasonId =
  | 'long interval'
  | 'multiple interval'
  | 'pause after an early beat'
  | 'short interval'
  | 'short-long pair'
  | 'shape'
  | 'off the peak'
  | 'amplitude'
  | 'noise'
  | 'baseline step'
  | 'second detector: none here'
  | 'second detector: elsewhere'
  | 'second detector: doubtful'
  | 'second detector: one more'
  | 'in noise: none here'
  | 'in noise: elsewhere'
  | 'in noise: one more'
  | 'another lead: elsewhere'
  | 'higher peak beside'
  | 'flat or clipped'
  | 'beside a gap'
  | 'unreadable';

export interface Finding {
  readonly reason: ReasonId;
  /** 0 to 1. */
  readonly strength: number;
  readonly sentence: string;
}

/** 0 at 0, 0.22 at 1, 0.63 at 2, 0.95 at 3.5: `excess` counts usual deviations. */
export function strengthOf(excess: number): number {
  return excess <= 0 ? 0 : 1 - Math.exp((-excess * excess) / 4);
}

const times = (x: number) => x.toFixed(1);
const hundredths = (x: number) => x.toFixed(2);
const percent = (x: number) => `${Math.round(100 * x)} %`;

/**
 * `ratio` = interval / local median; `spread` = local quartile deviation / median; `before` = the interval before, / median
 * (0 where there is none). Lipponen & Tarvainen 2019.
 */
export function longInterval(ratio: number, spread: number, before = 0): Finding | null {
  const strength = strengthOf((ratio - 1) / (0.15 + 2.2 * spread));
  if (ratio < 1.25 || strength < 0.1) return null;
  if (before > 0 && before < 0.85 && Math.abs(before + ratio - 2) < 0.3) {
    const sentence = `interval is ${times(ratio)} times its neighbours after one of ${times(before)} times: a pause after an early beat, or a beat may be missing`;
    return { reason: 'pause after an early beat', strength, sentence };
  }
  const missing = Math.round(ratio) - 1;
  const guess = missing > 1 ? `${missing} beats may be missing` : 'a beat may be missing';
  const whole = missing > 0 && spread < 0.1 && Math.abs(ratio - missing - 1) < 0.25;
  const sentence = `interval is ${times(ratio)} times its neighbours: ${guess}`;
  return { reason: whole ? 'multiple interval' : 'long interval', strength, sentence };
}

export function shortInterval(ratio: number, spread: number): Finding | null {
  const strength = strengthOf((1 - ratio) / (0.12 + 2 * spread));
  if (ratio > 0.85 || strength < 0.1) return null;
  const sentence = `interval is ${times(ratio)} times its neighbours: one of its marks may be extra`;
  return { reason: 'short interval', strength, sentence };
}

/** A short interval made up for by a long one: the mark between is on another wave, or the beat is early. */
export function shortLongPair(before: number, after: number, spread: number): Finding | null {
  const excess = (after - before) / 2 / (0.12 + 2 * spread);
  const evenOut = Math.abs(before + after - 2) < 0.3;
  const strength = evenOut ? strengthOf(Math.abs(excess)) : 0;
  if (strength < 0.1) return null;
  const order = excess > 0 ? 'short, then long' : 'long, then short';
  const sentence = `intervals of ${times(before)} and ${times(after)} times their neighbours (${order}): wrong peak, or an ectopic beat`;
  return { reason: 'short-long pair', strength, sentence };
}

/** Correlation with the local average beat, beside what its neighbours reach. Correlation with an average beat is common practice. */
export function unlikeShape(correlation: number, usualCorrelation: number): Finding | null {
  const strength = strengthOf((usualCorrelation - correlation) / (0.06 + 0.6 * Math.max(0, 1 - usualCorrelation)) / 2);
  if (correlation > 0.9 || strength < 0.1) return null;
  return {
    reason: 'shape',
    strength,
    sentence: `shape unlike the beats around it (correlation ${hundredths(correlation)}, they reach ${hundredths(usualCorrelation)})`,
  };
}

/** The average beat fits better some milliseconds away. */
export function offThePeak(correlation: number, shiftedCorrelation: number, shiftMs: number): Finding | null {
  const gain = shiftedCorrelation - correlation;
  if (Math.abs(shiftMs) < 40 || shiftedCorrelation < 0.6 || gain < 0.08) return null;
  const strength = strengthOf(gain / 0.15);
  const side = shiftMs > 0 ? 'later' : 'earlier';
  const sentence = `the usual beat fits better ${Math.round(Math.abs(shiftMs))} ms ${side}: the mark may be off the peak`;
  return { reason: 'off the peak', strength, sentence };
}

export function amplitudeJump(amplitude: number, usual: number): Finding | null {
  if (!(usual > 0 && amplitude >= 0)) return null;
  const ratio = amplitude / usual;
  const strength = strengthOf(Math.abs(Math.log(Math.max(ratio, 0.01))) / 0.4);
  if (strength < 0.15) return null;
  return { reason: 'amplitude', strength, sentence: `height is ${hundredths(ratio)} times that of its neighbours` };
}

/** `ratio` = signal above about 40 Hz as a share of the beats' height. */
export function highNoise(ratio: number): Finding | null {
  const strength = strengthOf(ratio / 0.05);
  if (ratio < 0.02) return null;
  return { reason: 'noise', strength, sentence: `noise above 40 Hz is ${percent(ratio)} of the beats' height` };
}

/** `ratio` = change of the baseline across the mark as a share of the beats' height. */
export function baselineStep(ratio: number): Finding | null {
  const strength = strengthOf(ratio / 0.7);
  if (ratio < 0.5) return null;
  return {
    reason: 'baseline step',
    strength,
    sentence: `baseline shifts by ${times(ratio)} times the beats' height here`,
  };
}

/** How the second detector was taken: unsure of this stretch itself, or by the beats like this one. */
export interface OpinionFrom {
  readonly inNoise?: boolean;
  readonly likeBeats?: boolean;
}

/**
 * A second detector's opinion of a mark. `offMs` null: it found no beat near; else its beat lies that far away, and
 * `unusualMs` further than beside the marks around. The nearer, the more likely the mark is still within the tolerance.
 */
export function secondDisagrees(offMs: number | null, unusualMs = offMs ?? 0, from: OpinionFrom = {}): Finding | null {
  const where = from.inNoise ? ' (in noise, where it is unsure)' : '';
  if (offMs === null) {
    const reason = from.inNoise ? 'in noise: none here' : 'second detector: none here';
    return { reason, strength: 1, sentence: `the second detector finds no beat here${where}` };
  }
  const strength = Math.min(1, (Math.abs(unusualMs) - elsewhereFromMs) / (elsewhereMs - elsewhereFromMs));
  if (strength <= 0) return null;
  const reason = from.inNoise ? 'in noise: elsewhere' : 'second detector: elsewhere';
  const beat = from.likeBeats ? 'beats like this one' : 'this beat';
  const sentence = `the second detector puts ${beat} ${Math.round(Math.abs(offMs))} ms ${offMs > 0 ? 'later' : 'earlier'}${where}`;
  return { reason, strength, sentence };
}

/** From here on another place counts at all, and from there on wholly. */
export const elsewhereFromMs = 25;
const elsewhereMs = 100;

/** `chance`: how likely a beat is there, by the second detector's own account (sum over all paths, see chain.ts). */
export function secondDoubts(chance: number): Finding | null {
  const strength = Math.min(1, 1 - logit(chance) / doubtfulBelow);
  if (strength <= 0.05) return null;
  const sentence = `the second detector is only ${percent(chance)} sure of a beat here`;
  return { reason: 'second detector: doubtful', strength, sentence };
}

/** Log-odds of a beat from which there is no doubt: 98 %. */
const doubtfulBelow = 4;

function logit(chance: number): number {
  return Math.log(chance / (1 - chance));
}

/**
 * `correlation`: correlation of the place with the beats around it; `room`: distance to the nearer mark as a share of the
 * usual interval. Close to a mark the second detector may have taken another wave of that beat. `chance`: as above. All are
 * of the first of `count` beats in one stretch.
 */
export function secondFindsMore(correlation: number, room: number, inNoise = false, chance = 1, count = 1): Finding {
  const where = inNoise ? ', in noise, where it is unsure' : '';
  const sure = Math.max(0, Math.min(1, logit(chance) / doubtfulBelow));
  const beats = count === 1 ? 'a beat here that has no mark' : `${count} beats here that have no marks`;
  const number = hundredths(correlation);
  const alike =
    count === 1
      ? `correlation ${number} with its neighbours`
      : `correlation of the first with its neighbours ${number}`;
  return {
    reason: inNoise ? 'in noise: one more' : 'second detector: one more',
    strength: (0.8 + 0.2 * Math.max(0, correlation)) * Math.min(1, 0.4 + 1.2 * room) * (0.5 + 0.5 * sure),
    sentence: `the second detector finds ${beats} (${alike}${where})`,
  };
}

/** `ratio`: the most peaked wave within 130 ms beside the mark's own; a mark on a wave that is not the tallest. */
export function higherPeakBeside(ratio: number, offMs: number): Finding | null {
  if (!(ratio > 0.7)) return null;
  const side = offMs > 0 ? 'later' : 'earlier';
  const sentence = `${Math.round(Math.abs(offMs))} ms ${side} is a peak ${times(ratio)} times as sharp: the mark may be on the wrong wave`;
  return { reason: 'higher peak beside', strength: strengthOf((ratio - 0.6) / 0.4), sentence };
}

/** `offMs`: where another lead has its most peaked wave beside the mark. The leads' waves of one beat need not peak together. */
export function otherLeadElsewhere(offMs: number): Finding | null {
  const strength = Math.min(1, (Math.abs(offMs) - 40) / 20);
  if (strength <= 0) return null;
  const sentence = `another lead has its peak ${Math.round(Math.abs(offMs))} ms ${offMs > 0 ? 'later' : 'earlier'}: the mark may be on the wrong wave`;
  return { reason: 'another lead: elsewhere', strength, sentence };
}

export function flatOrClipped(kind: 'flat' | 'clipped'): Finding {
  const sentence = kind === 'flat' ? 'the line is flat here: no signal' : 'the signal is cut off at its limit here';
  return { reason: 'flat or clipped', strength: 1, sentence };
}

/** `seconds` between the mark and the edge of a stretch without signal. */
export function besideGap(secondsAway: number): Finding | null {
  if (secondsAway > 1) return null;
  return {
    reason: 'beside a gap',
    strength: 1 - secondsAway / 2,
    sentence: 'the signal is missing next to this mark',
  };
}

export function hiddenBeats(seconds: number): Finding {
  const sentence = `noise or a flat line hides the beats for ${times(seconds)} s: unreadable?`;
  return { reason: 'unreadable', strength: 1, sentence };
}
