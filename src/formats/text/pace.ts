/** How time stamps come: the rate of the rows, how many rows share a stamp, how unevenly stamps lie. */
export interface Pace {
  /** Whole where the stamps cannot tell it from that. */
  readonly rateHz: number;
  /** 1 when each row has a stamp of its own; else the median number of rows from one new stamp to the next. */
  readonly rowsPerStamp: number;
  /** Robust standard deviation of a stamp about its place, 0 when its clock, as it is read, can show no less. */
  readonly jitterSeconds: number;
  /** How far a stamp may lie from its place: the same, and what rounding adds beyond the written digits. */
  readonly slackSeconds: number;
  /** Jitter adds up from stamp to stamp, as when each is set a while after the last, instead of lying about a grid. */
  readonly wanders: boolean;
  /** Relative standard error of the rate. */
  readonly rateError: number;
  /** Step of a clock so coarse that the rows, although even, come in steps of one or two of it, or share one; else 0. */
  readonly tickSeconds: number;
  /** Rate of the whole span, where steps twice as long come as regularly as by a coarse clock; null where none may be. */
  readonly otherwiseHz: number | null;
}

/** From one new stamp to the next, where time goes on: rows and seconds of each step, in parallel. */
interface Steps {
  readonly rows: Float64Array;
  readonly seconds: Float64Array;
}

/** Stamps as they begin: row and time of each new one, in stretches without a gap. */
interface Stretch {
  readonly rows: number[];
  readonly times: number[];
}

/**
 * Rate of the stamps of rows that follow each other. Where rows share stamps (whole seconds, one stamp a packet), rows are
 * counted from one new stamp to the next, and the first stamp, whose rows may have begun earlier, is left out. Slopes over
 * long and short distances are medians, so that jitter and single lost packets do not bend them. Null when there are
 * fewer than two new stamps that rise.
 */
export function measurePace(seconds: ArrayLike<number>, writtenSeconds: number): Pace | null {
  const news = newStamps(seconds);
  const shared = news.length > 0 && seconds.length / (news.length + 1) > 1.2;
  const rows = shared ? news : Array.from({ length: seconds.length }, (_, i) => i);
  const steps = stepsOf(rows, seconds);
  if (steps.rows.length === 0) return null;
  const rowSeconds = median(steps.seconds.map((s, j) => s / steps.rows[j]!));
  const resolutionSeconds = shared
    ? writtenSeconds
    : Math.max(writtenSeconds, tickOf(steps.seconds, news.length, rows.length, writtenSeconds));
  const coarse = coarseClock(seconds, steps, shared, writtenSeconds) ?? float32Clock(seconds, rows, shared, rowSeconds);
  const rowsPerStamp = shared ? median(steps.rows) : 1;
  if (coarse?.isUsual) {
    const { rateHz, rateError, tickSeconds, slackSeconds } = coarse;
    return {
      rateHz,
      rateError,
      rowsPerStamp,
      tickSeconds,
      jitterSeconds: 0,
      slackSeconds,
      wanders: false,
      otherwiseHz: null,
    };
  }
  const off = steps.seconds.map((s, j) => s - steps.rows[j]! * rowSeconds);
  const typicalOff = median(off.map(Math.abs));
  const spread = 1.4826 * typicalOff;
  const limit = shared
    ? Math.max(0.5 * rowsPerStamp * rowSeconds, 4 * spread)
    : Math.max(0.5 * rowSeconds + resolutionSeconds, 4 * spread);
  const stretches = stretchesOf(rows, seconds, rowSeconds, limit);
  const deviation = (1.4826 / Math.SQRT2) * typicalOff;
  const wanders = addsUp(off, deviation);
  const walkError = wanders ? (Math.SQRT2 * deviation) / (rowSeconds * Math.sqrt(off.length)) / rowsPerStamp : 0;
  const edgeSeconds = (shared ? 2 * rowSeconds : 2 * resolutionSeconds) + 2 * deviation;
  const found = rateOf(stretches, edgeSeconds, walkError);
  if (found === null) return null;
  // Where rows share stamps, each end of a step is known to within a row: of even stamps they are off by one at most.
  const isShown = shared ? typicalOff <= 1.05 * rowSeconds : deviation <= 0.6 * resolutionSeconds;
  const jitterSeconds = isShown ? 0 : deviation;
  const slackSeconds = deviation > (shared ? rowSeconds : 0.6 * writtenSeconds) ? deviation : 0;
  const otherwiseHz = coarse && !shared ? coarse.rateHz : null;
  return {
    ...found,
    rowsPerStamp,
    jitterSeconds,
    slackSeconds,
    wanders: wanders && slackSeconds > 0,
    tickSeconds: 0,
    otherwiseHz,
  };
}

interface CoarseClock {
  readonly rateHz: number;
  readonly rateError: number;
  readonly tickSeconds: number;
  readonly slackSeconds: number;
  /** The rate is as near one that recorders have as their clocks are. */
  readonly isUsual: boolean;
}

/** How far a recorder's rate may lie off the one it is named by, relative (common practice: crystals keep 0.01 %). */
const crystalSlack = 1e-3;

/**
 * Rate of even rows whose clock goes on by about a row or more at a time, such as seconds in float32 late in a recording or
 * a clock of 1/1024 s beside rows of 1/1000 s. Neighbours then lie one tick apart or two, and only the whole span tells the
 * rate. All stamps of the longest stretch must lie within one tick of a straight line: lost rows come less regularly.
 * Null where they do not, or where no step is that long.
 */
function coarseClock(
  seconds: ArrayLike<number>,
  steps: Steps,
  shared: boolean,
  writtenSeconds: number,
): CoarseClock | null {
  const tick = Math.max(median(steps.seconds), writtenSeconds);
  const longest = (shared ? 1.5 : 2.5) * tick + writtenSeconds;
  const [from, to] = longestRun(seconds, longest);
  if (to - from < 50) return null;
  if (!shared && !areOneOrTwo(steps.seconds, tick, 1.1 * writtenSeconds + 1e-9)) return null;
  const room = tick + (writtenSeconds < 0.5 * tick ? 1.1 * writtenSeconds : 0) + 1e-9;
  const fits = (rate: number) => rangeAbout(seconds, from, to, rate) <= room;
  const slope = slopeOf(seconds, from, to);
  const slack = (2 * tick) / (seconds[to - 1]! - seconds[from]!);
  const candidates = [usual(slope, slack), whole(slope, slack), Number(slope.toPrecision(9))];
  const rateHz = candidates.find(fits);
  if (rateHz === undefined) return null;
  const isUsual = isUsualRate(rateHz, crystalSlack);
  return { rateHz, rateError: slack / Math.sqrt(to - from), tickSeconds: tick, slackSeconds: 0, isUsual };
}

/** The same of stamps that were float32. The shortest digits that say one lie up to half its step off it. */
function float32Clock(
  seconds: ArrayLike<number>,
  rows: readonly number[],
  shared: boolean,
  rowSeconds: number,
): CoarseClock | null {
  const ulp = 2 ** (Math.floor(Math.log2(Math.abs(seconds[seconds.length - 1]!))) - 23);
  if (!(ulp >= 0.5 * rowSeconds)) return null;
  const words = Float64Array.from(seconds, Math.fround);
  const steps = stepsOf(rows, words);
  const found = steps.rows.length === 0 ? null : coarseClock(words, steps, shared, 0);
  return found && { ...found, slackSeconds: found.tickSeconds / 4 };
}

/** Nearly all steps are of one tick or two, and some are of two. */
function areOneOrTwo(steps: Float64Array, tick: number, slack: number): boolean {
  const near = (ticks: number) => steps.filter(s => Math.abs(s - ticks * tick) <= slack).length;
  const two = near(2);
  return two >= 8 && near(1) + two >= 0.98 * steps.length;
}

/** First and past-the-last row of the longest run in which time neither goes back nor makes a step beyond `longest`. */
function longestRun(seconds: ArrayLike<number>, longest: number): [number, number] {
  let best: [number, number] = [0, 0];
  for (let from = 0, i = 1; i <= seconds.length; i++) {
    const step = i < seconds.length ? seconds[i]! - seconds[i - 1]! : Number.NaN;
    if (step >= 0 && step <= longest) continue;
    if (i - from > best[1] - best[0]) best = [from, i];
    from = i;
  }
  return best;
}

/** Rows a second by least squares over rows `[from, to)`. */
function slopeOf(seconds: ArrayLike<number>, from: number, to: number): number {
  const middle = (to - from - 1) / 2;
  const first = seconds[from]!;
  let [product, square] = [0, 0];
  for (let i = from; i < to; i++) {
    const row = i - from - middle;
    product += row * (seconds[i]! - first);
    square += row * row;
  }
  return square / product;
}

/** Between the stamp that lies furthest ahead of rows of this rate and the one furthest behind, in s. */
function rangeAbout(seconds: ArrayLike<number>, from: number, to: number, rate: number): number {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = from; i < to; i++) {
    const off = seconds[i]! - seconds[from]! - (i - from) / rate;
    if (off < least) least = off;
    if (off > most) most = off;
  }
  return most - least;
}

/** Rows whose stamp is not the one before. */
function newStamps(seconds: ArrayLike<number>): number[] {
  const rows: number[] = [];
  for (let i = 1; i < seconds.length; i++) if (seconds[i] !== seconds[i - 1]) rows.push(i);
  return rows;
}

/** Deviations of steps about a grid cancel out in the next step; those of stamps set a while after the last do not. */
function addsUp(off: Float64Array, deviation: number): boolean {
  const inside = off.map(d => Math.max(-5 * deviation, Math.min(5 * deviation, d)));
  let product = 0;
  let square = 0;
  for (let i = 1; i < inside.length; i++) {
    product += inside[i]! * inside[i - 1]!;
    square += inside[i]! * inside[i]!;
  }
  return inside.length > 50 && product > -0.25 * square;
}

/**
 * Step of a clock that is coarser than its digits, as of milliseconds written with six decimals: nearly all steps then have
 * one of a few lengths that lie a tick apart, or some stamps are those of the row before. 0 when there is none, as with
 * stamps that jitter, whose steps have any length. Steps that lie a whole row apart are those of lost rows.
 */
function tickOf(steps: Float64Array, newCount: number, rowCount: number, writtenSeconds: number): number {
  const sorted = steps.slice().sort();
  const often = Math.max(2, 0.01 * sorted.length);
  const lengths: number[] = [];
  let counted = 0;
  for (let from = 0, i = 1; i <= sorted.length; i++) {
    if (i < sorted.length && sorted[i]! - sorted[i - 1]! <= 1.5 * writtenSeconds + 1e-9) continue;
    if (sorted[i - 1]! - sorted[from]! > 3 * writtenSeconds + 1e-9) return 0;
    if (i - from >= often) {
      lengths.push(sorted[(from + i - 1) >> 1]!);
      counted += i - from;
    }
    from = i;
  }
  if (lengths.length === 0 || lengths.length > mostLengths || counted < 0.95 * sorted.length) return 0;
  if (rowCount - 1 - newCount >= often) return lengths[0]!;
  const tick = Math.min(...lengths.slice(1).map((length, i) => length - lengths[i]!));
  return tick < 0.75 * sorted[sorted.length >> 1]! ? tick : 0;
}

const mostLengths = 8;

function stepsOf(rows: readonly number[], seconds: ArrayLike<number>): Steps {
  const steps = { rows: new Float64Array(rows.length), seconds: new Float64Array(rows.length) };
  let count = 0;
  for (let j = 1; j < rows.length; j++) {
    const step = seconds[rows[j]!]! - seconds[rows[j - 1]!]!;
    if (!(step > 0)) continue;
    steps.rows[count] = rows[j]! - rows[j - 1]!;
    steps.seconds[count++] = step;
  }
  return { rows: steps.rows.subarray(0, count), seconds: steps.seconds.subarray(0, count) };
}

function stretchesOf(
  rows: readonly number[],
  seconds: ArrayLike<number>,
  rowSeconds: number,
  limit: number,
): Stretch[] {
  const stretches: Stretch[] = [];
  let open: Stretch = { rows: [], times: [] };
  let [lastRow, lastTime] = [0, 0];
  for (const row of rows) {
    const t = seconds[row]!;
    const first = open.rows.length === 0;
    const ahead = first ? 0 : t - lastTime - (row - lastRow) * rowSeconds;
    const back = !first && t < lastTime - limit;
    if (ahead > limit || back) {
      stretches.push(open);
      open = { rows: [], times: [] };
    }
    open.rows.push(row);
    open.times.push(t);
    [lastRow, lastTime] = [row, t];
  }
  stretches.push(open);
  return stretches.filter(s => s.rows.length > 1 && s.times.at(-1)! > s.times[0]!);
}

function rateOf(
  stretches: readonly Stretch[],
  edgeSeconds: number,
  walkError: number,
): Pick<Pace, 'rateHz' | 'rateError'> | null {
  const longest = stretches.reduce<Stretch | null>((a, b) => (a && a.rows.length >= b.rows.length ? a : b), null);
  if (!longest) return null;
  const count = longest.rows.length;
  const lag = Math.max(1, Math.floor((2 * (count - 1)) / 3));
  const far = slopes([longest], lag);
  const short = Math.max(1, Math.min(32, Math.floor(count / 4)));
  const near = slopes(stretches, short);
  const seconds = longest.times[Math.min(count - 1, lag)]! - longest.times[0]!;
  const slack = edgeSeconds / seconds + 3 * far.error + 1e-6;
  // Lost rows that no step shows make long distances too slow; short ones hardly have any.
  const nearSlack = 3 * near.error + edgeSeconds / (longest.times[short]! - longest.times[0]!);
  if (walkError > 1e-3) return { rateHz: usual(far.rate, 2 * walkError), rateError: walkError };
  const bent = near.rate / far.rate - 1 > slack + nearSlack;
  if (bent) return { rateHz: whole(near.rate, 3 * near.error + 1e-6), rateError: near.error };
  return { rateHz: whole(far.rate, slack), rateError: far.error };
}

/** Rates that recorders have (common practice). */
const usualRates = [50, 100, 125, 128, 130, 200, 250, 256, 300, 360, 400, 500, 512, 1000, 1024, 2000, 2048];

/** Whether a rate is one of these, within a relative slack. */
export const isUsualRate = (rateHz: number, slack = 1e-9) => usualRates.some(r => Math.abs(rateHz / r - 1) <= slack);

const usual = (rate: number, slack: number) => nearestUsual(rate, slack) ?? whole(rate, slack);

function nearestUsual(rate: number, slack: number): number | undefined {
  const near = usualRates.filter(r => Math.abs(r / rate - 1) <= slack);
  return near.sort((a, b) => Math.abs(a - rate) - Math.abs(b - rate))[0];
}

function slopes(stretches: readonly Stretch[], lag: number): { rate: number; error: number } {
  const all = new Float64Array(stretches.reduce((n, { rows }) => n + Math.max(0, rows.length - lag), 0));
  let count = 0;
  for (const { rows, times } of stretches) {
    for (let j = lag; j < rows.length; j++) {
      const seconds = times[j]! - times[j - lag]!;
      if (seconds > 0) all[count++] = (rows[j]! - rows[j - lag]!) / seconds;
    }
  }
  const rates = all.subarray(0, count);
  const rate = median(rates);
  const spread = 1.4826 * median(rates.map(r => Math.abs(r / rate - 1)));
  return { rate, error: (1.25 * spread) / Math.sqrt(Math.max(1, rates.length / lag)) };
}

/** The nearest whole rate within the slack; where several lie in it, a usual one. */
function whole(rate: number, slack: number): number {
  const known = slack * rate > 0.5 ? nearestUsual(rate, slack) : undefined;
  if (known !== undefined) return known;
  const nearest = Math.round(rate);
  return nearest > 0 && Math.abs(nearest / rate - 1) <= slack ? nearest : Number(rate.toPrecision(9));
}

function median(values: Float64Array): number {
  const sorted = values.slice().sort();
  const middle = sorted.length >> 1;
  if (sorted.length === 0) return Number.NaN;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
