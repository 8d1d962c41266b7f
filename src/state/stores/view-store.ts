import { createStore } from 'zustand/vanilla';
import type { SampleIndex, Span } from '../../core/units';
import { cssPxPerMm } from '../../core/units';

/** What is on the screen. Never part of a review, never undone; remembered per session so a reopened page is where it was. */
export interface ViewState {
  /** Recording the keys act on. */
  readonly recordingId: string;
  /** Left edge of the first row, seconds on the active recording's clock. */
  readonly startSeconds: number;
  /** The caret; the beat under it, if any, is the selected one. */
  readonly caret: SampleIndex;
  readonly mmPerSecond: number;
  readonly mmPerMv: number;
  /** Rows of the page; 0 until the first measurement says how many fit. */
  readonly rows: number;
  /** Rows asked for, where more traces than then leave room for fewer; 0 where none were asked for. */
  readonly rowsAsked: number;
  readonly leads: 'all' | number;
  readonly bothRecorders: boolean;
  readonly filters: FilterChoice;
  /** The queue of suspicious places keeps to the segment of the caret. */
  readonly segmentOnly: boolean;
  /** Where an unreadable span was begun with the keyboard, waiting for its other end. */
  readonly spanStart: SampleIndex | null;
  /** How far the places of a page have been gone through, while the caret is where it was put. */
  readonly goneThrough: { readonly recordingId: string; readonly at: number; readonly caret: number } | null;
  /** The stretches of a sample that are being reviewed; null outside a sampled review. */
  readonly sampling: SampledPage | null;
  /** The segment that was completed and waits for its sign-off. */
  readonly signOffOffer: { readonly recordingId: string; readonly segment: string } | null;
  /** A segment drawn on the map, waiting for its name. */
  readonly segmentDraft: { readonly startSeconds: number; readonly endSeconds: number } | null;
  /** Screen pixels per paper millimetre, from the calibration step. */
  readonly pxPerMm: number;
}

/** A page of a sample: stretches in the order of time, each in a row of its own. */
export interface SampledPage {
  readonly recordingId: string;
  /** Which plan they belong to: its segment, or null for all segments together. */
  readonly segment: string | null;
  /** Paper speed at which the rows were laid out. */
  readonly mmPerSecond: number;
  readonly rows: readonly StretchRow[];
}

export interface StretchRow {
  readonly stretch: Span;
  /** Left edge of its row, seconds on the recording's clock. */
  readonly startSeconds: number;
  /** Left out by the rater: it stays on the page, and is not reviewed with the others. */
  readonly skipped: boolean;
}

export interface FilterChoice {
  readonly baseline: boolean;
  readonly mainsHz: 0 | 50 | 60;
  readonly muscle: boolean;
}

/** Size of the drawing area, reported by the chart. */
export interface StripGeometry {
  readonly widthPx: number;
  readonly rowsThatFit: number;
}

const startView: ViewState = {
  recordingId: '',
  startSeconds: 0,
  caret: 0 as SampleIndex,
  mmPerSecond: 25,
  mmPerMv: 10,
  rows: 0,
  rowsAsked: 0,
  leads: 0,
  bothRecorders: false,
  filters: { baseline: false, mainsHz: 0, muscle: false },
  segmentOnly: false,
  spanStart: null,
  goneThrough: null,
  sampling: null,
  signOffOffer: null,
  segmentDraft: null,
  pxPerMm: cssPxPerMm,
};

/** Slower than this a person cannot judge single beats: nothing shown counts as looked at. */
const readableMmPerSecond = 10;

/** Paper speeds offered by zooming, mm/s; the slow ones are for finding one's way, not for judging. */
export const paperSpeeds = [100, 50, 25, 12.5, 5, 2.5, 1, 0.5, 0.2, 0.05, 0.01, 0.005] as const;
export const gains = [2.5, 5, 10, 20, 40] as const;

export function isReadable(view: Pick<ViewState, 'mmPerSecond'>): boolean {
  return view.mmPerSecond >= readableMmPerSecond;
}

/** Seconds that one row shows. */
export function rowSeconds(view: ViewState, geometry: StripGeometry): number {
  return geometry.widthPx / (view.pxPerMm * view.mmPerSecond);
}

/** Seconds that the whole page shows. */
export function pageSeconds(view: ViewState, geometry: StripGeometry): number {
  return rowSeconds(view, geometry) * Math.max(1, view.rows);
}

/** The rows of a sample while they are on the screen; null once the page shows the recording in the order of time. */
export function rowsApart(view: ViewState): readonly StretchRow[] | null {
  const { sampling, recordingId, mmPerSecond, startSeconds } = view;
  const stands = sampling?.recordingId === recordingId && sampling.mmPerSecond === mmPerSecond;
  return stands && sampling.rows[0]?.startSeconds === startSeconds ? sampling.rows : null;
}

export type ViewStore = ReturnType<typeof createViewStore>;

export function createViewStore() {
  return createStore<ViewState & { geometry: StripGeometry }>(() => ({
    ...startView,
    geometry: { widthPx: 1000, rowsThatFit: 1 },
  }));
}
