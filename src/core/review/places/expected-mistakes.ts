/** How many mistakes may be left in a part of a recording: the expected number and a range that holds it nine times in ten. */
export interface ExpectedMistakes {
  readonly expected: number;
  readonly low: number;
  readonly high: number;
}

/**
 * How much more the number of mistakes varies from recording to recording than the places' own probabilities say, as a
 * share of the expected number: measured on real mistakes (tests/bench/calibration).
 */
const spread = 0.7;
const outside = 0.05;

/**
 * From the chance of a mistake at each place still open. The count is taken as a negative binomial variable (a Poisson
 * variable whose mean varies by `spread`; common practice for counts that vary more than chance).
 */
export function expectedMistakes(chances: Iterable<number>): ExpectedMistakes {
  let expected = 0;
  for (const p of chances) expected += p;
  if (expected === 0) return { expected: 0, low: 0, high: 0 };
  const size = 1 / (spread * spread);
  const share = size / (size + expected);
  let term = share ** size;
  let below = 0;
  let low: number | null = null;
  for (let k = 0; k < 100_000; k++) {
    below += term;
    if (low === null && below > outside) low = k;
    if (below >= 1 - outside) return { expected, low: low ?? 0, high: k };
    term *= ((size + k) / (k + 1)) * (1 - share);
  }
  return { expected, low: low ?? 0, high: 100_000 };
}
