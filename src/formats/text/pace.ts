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
  const off = steps.seconds.map((s, j) => s - steps.rows[j]! * rowSeconds);
  const typicalOff = median(off.map(Math.abs));
  const spread = 1.4826 * typicalOff;
  const rowsPerStamp = shared ? median(steps.rows) : 1;
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
  return { ...found, rowsPerStamp, jitterSeconds, slackSeconds, wanders: wanders && slackSeconds > 0 };
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

function usual(rate: number, slack: number): number {
  const near = usualRates.filter(r => Math.abs(r / rate - 1) <= slack);
  const best = near.sort((a, b) => Math.abs(a - rate) - Math.abs(b - rate))[0];
  return best ?? whole(rate, slack);
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

function whole(rate: number, slack: number): number {
  const nearest = Math.round(rate);
  return nearest > 0 && Math.abs(nearest / rate - 1) <= slack ? nearest : Number(rate.toPrecision(9));
}

function median(values: Float64Array): number {
  const sorted = values.slice().sort();
  const middle = sorted.length >> 1;
  if (sorted.length === 0) return Number.NaN;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
