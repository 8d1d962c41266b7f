/** Seconds on the axis <-> CSS pixels from the chart's left edge, for one row. */
export interface TimeScale {
  readonly startSeconds: number;
  readonly endSeconds: number;
  readonly pxPerSecond: number;
  readonly leftPx: number;
  readonly widthPx: number;
  readonly devicePixelRatio: number;
}

/**
 * The start is moved to a whole device pixel, so that grid, trace and lanes shift together and nothing shimmers while
 * panning.
 */
export function timeScale(
  startSeconds: number,
  pxPerSecond: number,
  leftPx: number,
  widthPx: number,
  devicePixelRatio: number,
): TimeScale {
  const devicePxPerSecond = pxPerSecond * devicePixelRatio;
  const snapped = Math.round(startSeconds * devicePxPerSecond) / devicePxPerSecond;
  return {
    startSeconds: snapped,
    endSeconds: snapped + widthPx / pxPerSecond,
    pxPerSecond,
    leftPx,
    widthPx,
    devicePixelRatio,
  };
}

export function xOf(scale: TimeScale, sec: number): number {
  return scale.leftPx + (sec - scale.startSeconds) * scale.pxPerSecond;
}

export function axisSecondsAt(scale: TimeScale, x: number): number {
  return scale.startSeconds + (x - scale.leftPx) / scale.pxPerSecond;
}

/** Time labels far enough apart to be read: the step in seconds, and the number of ruler ticks to a label. */
export function rulerStep(pxPerSecond: number, minLabelPx: number): { labelSeconds: number; ticks: number } {
  for (const [labelSeconds, ticks] of rulerSteps)
    if (labelSeconds * pxPerSecond >= minLabelPx) return { labelSeconds, ticks };
  return { labelSeconds: 8 * week, ticks: 8 };
}

const day = 86_400;
const week = 7 * day;

const rulerSteps: readonly (readonly [number, number])[] = [
  [0.1, 2],
  [0.2, 2],
  [0.5, 5],
  [1, 5],
  [2, 4],
  [5, 5],
  [10, 5],
  [30, 6],
  [60, 6],
  [120, 4],
  [300, 5],
  [600, 5],
  [1800, 6],
  [3600, 6],
  [7200, 4],
  [14_400, 4],
  [43_200, 6],
  [day, 4],
  [2 * day, 4],
  [week, 7],
  [2 * week, 2],
  [4 * week, 4],
];

/** `1:02:03`, `2:03`, or with tenths or thousandths where `stepSeconds` asks for them. Times before zero carry a minus. */
export function clockWords(sec: number, stepSeconds: number): string {
  const digits = stepSeconds >= 1 ? 0 : stepSeconds >= 0.1 ? 1 : 3;
  const unit = 10 ** digits;
  const whole = Math.round(Math.abs(sec) * unit);
  const sign = sec < 0 && whole > 0 ? '\u2212' : '';
  const total = Math.floor(whole / unit);
  const fraction = digits === 0 ? '' : `.${String(whole % unit).padStart(digits, '0')}`;
  const s = String(total % 60).padStart(2, '0');
  const m = Math.floor(total / 60) % 60;
  const h = Math.floor(total / 3600);
  return h > 0 ? `${sign}${h}:${String(m).padStart(2, '0')}:${s}${fraction}` : `${sign}${m}:${s}${fraction}`;
}

/** Wall time `HH:MM:SS` of a place, from the recording's start; null where the start is not known. */
export function wallClock(startedAt: string | null, sec: number): string | null {
  const parts = startedAt === null ? null : /T(\d\d):(\d\d):(\d\d)/.exec(startedAt);
  if (!parts) return null;
  const start = Number(parts[1]) * 3600 + Number(parts[2]) * 60 + Number(parts[3]);
  const total = (((start + Math.floor(sec)) % 86400) + 86400) % 86400;
  const two = (v: number) => String(v).padStart(2, '0');
  return `${two(Math.floor(total / 3600))}:${two(Math.floor(total / 60) % 60)}:${two(total % 60)}`;
}
