/** How many mistakes may be left in a part of a recording: the expected number and a range that holds it nine times in ten. */
export interface ExpectedMistakes {
  readonly expected: number;
  readonly low: number;
  readonly high: number;
}

/** One place still open, or several that are alike. */
export interface OpenPlace {
  readonly chance: number;
  readonly count: number;
  /** Places of one group lie too high or too low together: standard deviation of their log-odds. */
  readonly group: string;
  readonly spread: number;
}

const outside = 0.05;

/**
 * From the chance of a mistake at each place still open. The variance of the number is that of independent places, and of each
 * group that of its common shift (to first order). The range is that of a negative binomial variable, or a binomial one
 * where the number varies less than a Poisson variable, with this mean and variance (Panjer, ASTIN Bull 1981;12:22). It
 * never says that none is left while a place is open.
 */
export function expectedMistakes(places: Iterable<OpenPlace>): ExpectedMistakes {
  return expectedOf(sumsOver(places));
}

/** What `expectedMistakes` needs of places, to be kept where one more is all that changes. */
export interface MistakeSums {
  readonly expected: number;
  /** Of independent places. */
  readonly variance: number;
  readonly most: number;
  readonly groups: ReadonlyMap<string, { readonly slope: number; readonly spread: number }>;
}

/** `from`: sums over places before these. */
export function sumsOver(places: Iterable<OpenPlace>, from: MistakeSums = noPlaces): MistakeSums {
  const groups = new Map(from.groups);
  let { expected, variance, most } = from;
  for (const { chance, count, group, spread } of places) {
    const slope = count * chance * (1 - chance);
    expected += count * chance;
    variance += slope;
    most += count;
    groups.set(group, { slope: slope + (groups.get(group)?.slope ?? 0), spread });
  }
  return { expected, variance, most, groups };
}

const noPlaces: MistakeSums = { expected: 0, variance: 0, most: 0, groups: new Map() };

export function expectedOf({ expected, most, groups, variance: apart }: MistakeSums): ExpectedMistakes {
  let variance = apart;
  for (const { slope, spread } of groups.values()) variance += (slope * spread) ** 2;
  const { low, high } = rangeOf(expected, variance);
  return { expected, low: Math.min(low, most), high: Math.min(most, Math.max(high, 1)) };
}

/** The 5 % and 95 % quantiles; terms by recursion, in logarithms so that a large mean does not underflow. */
function rangeOf(mean: number, variance: number): { low: number; high: number } {
  if (!(mean > 0)) return { low: 0, high: 0 };
  if (!(variance > leastVariance * mean)) return { low: Math.round(mean), high: Math.round(mean) };
  const a = 1 - mean / variance;
  const sum = mean ** 2 / variance;
  let term = Math.abs(a) < 1e-9 ? -sum : (sum / a) * Math.log1p(-a);
  let below = 0;
  let low: number | null = null;
  for (let k = 0; ; ) {
    below += Math.exp(term);
    if (low === null && below > outside) low = k;
    k++;
    const factor = a + (sum - a) / k;
    if (below >= 1 - outside || !(factor > 0) || k > mostCounted) return { low: low ?? k - 1, high: k - 1 };
    term += Math.log(factor);
  }
}

/** As sure as this of every place, the number is as good as known. */
const leastVariance = 1e-6;
const mostCounted = 200_000;
