import type { StripModel, StripView } from './model';

/** A horizontal strip of the page, CSS pixels from the chart's top. */
export interface Band {
  readonly top: number;
  readonly height: number;
}

export interface LaneBands {
  readonly detected: Band;
  readonly reviewed: Band;
  readonly interval: Band;
  readonly unreadable: Band;
  /** Lanes of two raters, above and below the detected marks, where they are compared. */
  readonly raters?: { readonly above: Band; readonly below: Band };
}

/** One recorder's traces with the ledger lanes ruled under them. */
export interface GroupLayout extends LaneBands {
  readonly recorderIndex: number;
  readonly traces: readonly Band[];
  /** Narrow margin between trace and lanes, for comments and flags. */
  readonly margin: Band;
  readonly top: number;
  readonly bottom: number;
}

export interface RowLayout {
  readonly index: number;
  readonly top: number;
  readonly height: number;
  readonly ruler: Band;
  readonly groups: readonly GroupLayout[];
}

export interface StripLayout {
  readonly width: number;
  readonly height: number;
  /** Left column with the names of traces and lanes. */
  readonly gutterPx: number;
  readonly plotWidthPx: number;
  readonly rows: readonly RowLayout[];
}

interface LaneHeights {
  readonly ruler: number;
  readonly margin: number;
  readonly detected: number;
  readonly reviewed: number;
  readonly interval: number;
  readonly unreadable: number;
}

const roomy: LaneHeights = { ruler: 18, margin: 12, detected: 22, reviewed: 22, interval: 32, unreadable: 16 };
const tight: LaneHeights = { ruler: 16, margin: 9, detected: 17, reviewed: 17, interval: 17, unreadable: 11 };

/** A group lower than this uses the tight lanes. */
const roomyGroupPx = 230;
/** A trace this high is easy to read at 10 mm/mV: half of what a row has beyond it goes to the interval lanes. */
const easyTracePx = 170;
/** An interval lane from this height on has room for the heart rate as a line below the figures. */
const lineRoomPx = 72;
/** Shares of a row that its interval lanes take at most. */
const intervalShare = 0.3;
const gutterAtUsualText = 124;
const rowGapPx = 10;
const groupGapPx = 6;

/** Two raters add a lane above the detected marks and one below; without a settled lane they take its room. */
function laneSum(h: LaneHeights, { raters }: Pick<Tracks, 'raters'>): number {
  const lanes = raters ? 2 * h.reviewed + (raters.settled ? h.reviewed : 0) : h.reviewed;
  return h.margin + h.detected + lanes + h.interval + h.unreadable;
}

type Tracks = Pick<StripModel['recorders'][number], 'tracks' | 'raters'>;

/** Places every band of every row. Heights are whole pixels, so rules stay sharp. */
export function stripLayout(
  recorders: readonly Tracks[],
  view: Pick<StripView, 'rows' | 'textScale'>,
  width: number,
  height: number,
): StripLayout {
  const scale = view.textScale ?? 1;
  const gutterPx = Math.min(Math.round(gutterAtUsualText * scale), Math.floor(width / 4));
  const rows = Math.max(1, Math.floor(view.rows));
  const rowHeight = Math.floor((height - rowGapPx * (rows - 1)) / rows);
  return {
    width,
    height,
    gutterPx,
    plotWidthPx: Math.max(1, width - gutterPx),
    rows: Array.from({ length: rows }, (_, i) => rowLayout(recorders, i, i * (rowHeight + rowGapPx), rowHeight, scale)),
  };
}

function rowLayout(recorders: readonly Tracks[], index: number, top: number, height: number, scale: number): RowLayout {
  const count = Math.max(1, recorders.length);
  const groupRoom = (height - roomy.ruler * scale - groupGapPx * (count - 1)) / count;
  const traceCount = recorders.reduce((n, r) => n + Math.max(1, r.tracks.length), 0);
  const lanes = scaled(groupRoom >= roomyGroupPx * scale ? roomy : tight, scale);
  const gaps = groupGapPx * (count - 1);
  const spare = height - lanes.ruler - gaps - laneSums(recorders, lanes) - traceCount * easyTracePx * scale;
  const heights = { ...lanes, interval: intervalHeight(lanes.interval, spare / count, height / count, scale) };
  const traceRoom = height - heights.ruler - gaps - laneSums(recorders, heights);
  const traceHeight = Math.max(16, Math.floor(traceRoom / Math.max(1, traceCount)));
  const groups: GroupLayout[] = [];
  let y = top + heights.ruler;
  recorders.forEach((recorder, recorderIndex) => {
    const group = groupLayout(recorderIndex, recorder, y, traceHeight, heights);
    groups.push(group);
    y = group.bottom + groupGapPx;
  });
  return { index, top, height, ruler: { top, height: heights.ruler }, groups };
}

/** An interval lane in a tall row grows, unless what it could grow to is still too low for a line. */
function intervalHeight(usual: number, spare: number, groupHeight: number, scale: number): number {
  const grown = Math.floor(Math.min(usual + spare / 2, groupHeight * intervalShare));
  return grown < lineRoomPx * scale ? usual : grown;
}

/** Room for interval and rate below each other, CSS pixels at text scale 1. */
export const twoLinesPx = 26;

/** Figures above, and below them a line where the lane has room for both; the line alone where figures are too dense. */
export function intervalParts(
  lane: Band,
  figures: boolean,
  scale: number,
): { figures: Band | null; line: Band | null } {
  if (!figures) return { figures: null, line: lane };
  if (lane.height < lineRoomPx * scale) return { figures: lane, line: null };
  const height = Math.round(roomy.interval * scale);
  return {
    figures: { top: lane.top, height },
    line: { top: lane.top + height, height: lane.height - height },
  };
}

function laneSums(recorders: readonly Tracks[], heights: LaneHeights): number {
  return recorders.reduce((sum, r) => sum + laneSum(heights, r), 0);
}

function groupLayout(
  recorderIndex: number,
  recorder: Tracks,
  top: number,
  traceHeight: number,
  heights: LaneHeights,
): GroupLayout {
  let y = top;
  const next = (height: number): Band => {
    const band = { top: y, height };
    y += height;
    return band;
  };
  const traces = Array.from({ length: Math.max(1, recorder.tracks.length) }, () => next(traceHeight));
  const margin = next(heights.margin);
  const above = recorder.raters && next(heights.reviewed);
  const detected = next(heights.detected);
  const below = recorder.raters && next(heights.reviewed);
  const reviewed = next(recorder.raters?.settled === false ? 0 : heights.reviewed);
  const interval = next(heights.interval);
  const unreadable = next(heights.unreadable);
  const raters = above && below ? { raters: { above, below } } : {};
  return { recorderIndex, traces, margin, detected, reviewed, interval, unreadable, ...raters, top, bottom: y };
}

function scaled(h: LaneHeights, scale: number): LaneHeights {
  const by = (v: number) => Math.round(v * scale);
  return {
    ruler: by(h.ruler),
    margin: by(h.margin),
    detected: by(h.detected),
    reviewed: by(h.reviewed),
    interval: by(h.interval),
    unreadable: by(h.unreadable),
  };
}

/** Millimetres of paper a trace wants to be read at 10 mm/mV: from -0.8 to 2 mV. */
const traceMm = 28;

/** Rows that fit the height with the traces tall enough to read; at least one, at most eight. */
export function rowsThatFit(recorders: readonly Tracks[], pxPerMm: number, height: number, textScale = 1): number {
  const traces = recorders.reduce((n, r) => n + Math.max(1, r.tracks.length), 0);
  const lanes = scaled(tight, textScale);
  const one = lanes.ruler + laneSums(recorders, lanes) + traces * traceMm * pxPerMm + rowGapPx;
  return Math.max(1, Math.min(8, Math.floor((height + rowGapPx) / one)));
}
