/**
 * Clocks of unrelated recordings, which must be refused, and of true pairs, which must be found: how close the residuals of
 * what was found lie to those of beats paired by chance. Run from the project's root:
 * npx tsx tests/reference/clock/false-pairs.ts > tests/reference/clock/false-pairs.json
 */
import { alignClocks, chanceSdMs, largestChanceShare } from '../../../src/core/agreement/clock';
import { type Random, randomFromNumber } from '../../../src/core/random';

const shared = { unrelated: 15, pairs: 6, seed: 11, minutes: [5, 12] };

/** How regular a heart is: SD of its slow course, of breathing and of single intervals, in ms. */
const hearts = [
  { name: 'at rest', slow: 40, breathing: 30, single: 10 },
  { name: 'regular', slow: 8, breathing: 4, single: 2 },
  { name: 'in movement', slow: 80, breathing: 10, single: 8 },
] as const;
type Heart = (typeof hearts)[number];

/** Beats of one person, in s, by sums of slow waves, breathing and noise around a mean of 0.5 to 1.1 s. */
function beats({ slow, breathing, single }: Heart, minutes: number, meanMs: number, random: Random): number[] {
  const waves = Array.from({ length: 5 }, () => ({
    hz: random.between(0.002, 0.1),
    at: random.between(0, 2 * Math.PI),
  }));
  const [hz, at] = [random.between(0.18, 0.32), random.between(0, 2 * Math.PI)];
  const times: number[] = [];
  for (let t = 0; t < minutes * 60; ) {
    times.push(t);
    const course = waves.reduce((sum, w) => sum + Math.sin(2 * Math.PI * w.hz * t + w.at), 0) / Math.sqrt(2.5);
    const rr =
      meanMs + slow * course + breathing * Math.SQRT2 * Math.sin(2 * Math.PI * hz * t + at) + single * random.normal();
    t += Math.max(250, rr) / 1000;
  }
  return times;
}

/** What another recorder makes of the same beats: another clock, jitter, and some beats missing. */
function recorded(times: readonly number[], jitterMs: number, random: Random): number[] {
  const [offset, drift] = [random.between(-120, 120), random.between(-300, 300) * 1e-6];
  const missing = random.between(0, 0.1);
  return times
    .filter(() => random.uniform() >= missing)
    .map(t => offset + (1 + drift) * t + (jitterMs * random.normal()) / 1000)
    .sort((x, y) => x - y);
}

/** Residual SD as a share of chance, where a clock is found with no limit on it; null where none is. */
function shareFound(a: readonly number[], b: readonly number[]): number | null {
  const fit = alignClocks(a, b, Number.POSITIVE_INFINITY);
  return fit.found ? fit.residualSdMs / chanceSdMs : null;
}

const rounded = (x: number) => Math.round(1000 * x) / 1000;

function cell(kind: string, heart: Heart, minutes: number, of: number, made: (random: Random) => number | null) {
  const random = randomFromNumber(shared.seed);
  const shares = Array.from({ length: of }, () => made(random)).flatMap(s => (s === null ? [] : [rounded(s)]));
  return { kind, heart: heart.name, minutes, of, found: shares.length, shares: shares.sort((a, b) => a - b) };
}

const meanMs = (random: Random) => random.between(500, 1100);
const cells = hearts.flatMap(heart =>
  shared.minutes.flatMap(minutes => [
    cell('unrelated', heart, minutes, shared.unrelated, random => {
      const first = beats(heart, minutes, meanMs(random), random);
      return shareFound(first, beats(heart, minutes, meanMs(random), random));
    }),
    cell('unrelated, same mean rate', heart, minutes, shared.unrelated, random => {
      const mean = meanMs(random);
      return shareFound(beats(heart, minutes, mean, random), beats(heart, minutes, mean, random));
    }),
    ...[2, 8, 15].map(jitter =>
      cell(`pair, jitter ${jitter} ms`, heart, minutes, shared.pairs, random => {
        const own = beats(heart, minutes, meanMs(random), random);
        return shareFound(own, recorded(own, jitter, random));
      }),
    ),
  ]),
);
console.log(JSON.stringify({ ...shared, hearts, chanceSdMs, largestChanceShare, cells }, null, 1));
