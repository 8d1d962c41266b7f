import { covers } from '../../../core/marks/spans';
import { Verdict } from '../../../core/marks/verdicts';
import { intervalAfter, rateBpm } from '../intervals';
import type { StripRecorder } from '../model';

/** Marks and heart rate of a whole recording by pixel column, for windows too long to show single marks. */
export interface Density {
  /** Column on the axis (axis seconds times pxPerSecond, floored) that index 0 stands for. */
  readonly firstColumn: number;
  /** Kept or refined and looked at; kept and not looked at yet; corrections by kind. Marks a column. */
  readonly looked: Uint16Array;
  readonly unlooked: Uint16Array;
  readonly moved: Uint16Array;
  readonly removed: Uint16Array;
  readonly inserted: Uint16Array;
  /** Lowest and highest rate in bpm by column, NaN where there is no interval. */
  readonly rateMin: Float32Array;
  readonly rateMax: Float32Array;
}

/** One pass over all marks. */
export function density(recorder: StripRecorder, pxPerSecond: number): Density {
  const { reviewed, detected, verdicts, accepted } = recorder;
  const column = columnOf(recorder, pxPerSecond);
  const firstColumn = column(0);
  const out = emptyDensity(firstColumn, Math.max(1, column(recorder.sampleCount) - firstColumn + 1));
  for (let k = 0; k < reviewed.length; k++) {
    const c = column(reviewed[k]!) - firstColumn;
    const verdict = verdicts.ofReviewed(k);
    if (verdict === Verdict.inserted) out.inserted[c]!++;
    else if (verdict === Verdict.moved) out.moved[c]!++;
    else if (verdict === Verdict.refined || covers(accepted, reviewed[k]!)) out.looked[c]!++;
    else if (verdict === Verdict.kept) out.unlooked[c]!++;
    const rr = intervalAfter(recorder, k)?.rrMs ?? null;
    if (rr === null) continue;
    const bpm = rateBpm(rr);
    if (!(out.rateMin[c]! <= bpm)) out.rateMin[c] = bpm;
    if (!(out.rateMax[c]! >= bpm)) out.rateMax[c] = bpm;
  }
  for (let j = 0; j < detected.length; j++) {
    if (verdicts.ofDetected(j) === Verdict.removed) out.removed[column(detected[j]!) - firstColumn]!++;
  }
  return out;
}

function emptyDensity(firstColumn: number, count: number): Density {
  return {
    firstColumn,
    looked: new Uint16Array(count),
    unlooked: new Uint16Array(count),
    moved: new Uint16Array(count),
    removed: new Uint16Array(count),
    inserted: new Uint16Array(count),
    rateMin: new Float32Array(count).fill(Number.NaN),
    rateMax: new Float32Array(count).fill(Number.NaN),
  };
}

function columnOf(recorder: StripRecorder, pxPerSecond: number): (sample: number) => number {
  const { axis, samplingRateHz } = recorder;
  const zero = axis.toAxisSeconds(0);
  const perSample = ((axis.toAxisSeconds(1) - zero) / samplingRateHz) * pxPerSecond;
  return sample => Math.floor(zero * pxPerSecond + sample * perSample);
}

interface Remembered {
  readonly recorder: StripRecorder;
  readonly pxPerSecond: number;
  readonly value: Density;
}

/** Keeps the last density of each recorder, so that panning computes nothing. */
export class DensityStore {
  private readonly kept = new Map<string, Remembered>();

  of(recorder: StripRecorder, pxPerSecond: number): Density {
    const known = this.kept.get(recorder.id);
    if (known && known.pxPerSecond === pxPerSecond && sameMarks(known.recorder, recorder)) return known.value;
    const value = density(recorder, pxPerSecond);
    this.kept.set(recorder.id, { recorder, pxPerSecond, value });
    return value;
  }
}

function sameMarks(a: StripRecorder, b: StripRecorder): boolean {
  if (a === b) return true;
  return (
    a.verdicts.matching === b.verdicts.matching &&
    a.accepted === b.accepted &&
    a.axis === b.axis &&
    a.reviewed === b.reviewed
  );
}
