import { type BeatWaves, middleOf, takeOffLine } from './beat-waves';
import { medianAt } from './local-median';
import type { SinusShape } from './sinus-shape';

/** Whether each beat has the P wave that the sinus-like beats have. */
export interface PWaves {
  /** Size of the P wave as a share of the usual one: 1 as usual, 0 none, below 0 another wave. */
  readonly size: Float32Array;
  /** How far the usual P wave stands out of the noise around a beat: below about 3 nothing can be said of a single beat. */
  readonly clear: Float32Array;
}

/** Before the middle of the QRS complex. */
const fromS = 0.24;
const toS = 0.05;
const aroundBeats = 100;
const asUsual = 0.5;
/** 1 standard deviation of a normal distribution lies 1.4826 median deviations out. */
const perDeviation = 1.4826;

/** `onTime`: beats of the sinus shape without an early or late beat beside them, by index; the usual P wave is theirs. */
export function pWaves(waves: BeatWaves, { lag }: Pick<SinusShape, 'lag'>, onTime: Int32Array): PWaves {
  const zones = waves.leads.map(values => pZones(waves, values, lag));
  const first = ofAllLeads(zones, waves.count, onTime);
  // Once more by those that have one: where beats without a P wave are frequent they would thin out the average.
  const having = onTime.filter(k => first.size[k]! > asUsual);
  return ofAllLeads(zones, waves.count, having.length > 0.3 * onTime.length ? having : onTime);
}

interface Zones {
  readonly width: number;
  readonly values: Float32Array;
}

/** The stretches before the QRS complexes in one lead, a straight line taken off. */
function pZones(waves: BeatWaves, of: Float32Array, lag: Int8Array): Zones {
  const start = -Math.round(fromS * waves.stepsPerSecond);
  const width = -Math.round(toS * waves.stepsPerSecond) - start;
  const values = new Float32Array(waves.count * width);
  for (let k = 0; k < waves.count; k++) {
    if (!waves.whole[k]) continue;
    const at = middleOf(waves, k) + lag[k]! + start;
    const zone = values.subarray(k * width, (k + 1) * width);
    zone.set(of.subarray(at, at + width));
    takeOffLine(zone);
  }
  return { width, values };
}

/** Each lead counts by how far the usual P wave stands out of its noise (the reciprocal of the variance). */
function ofAllLeads(zones: readonly Zones[], count: number, from: Int32Array): PWaves {
  const leads = zones.map(zone => {
    const size = sizes(zone, count, from);
    return { size, clear: clearness(size, from) };
  });
  if (leads.length === 1) return leads[0]!;
  const size = new Float32Array(count).map((_, k) => {
    let [sum, weights] = [0, 0];
    for (const lead of leads) {
      const weight = lead.clear[k]! ** 2;
      sum += weight * lead.size[k]!;
      weights += weight;
    }
    return weights > 0 ? sum / weights : 1;
  });
  return { size, clear: clearness(size, from) };
}

function sizes({ width, values }: Zones, count: number, from: Int32Array): Float32Array {
  const size = new Float32Array(count);
  const sum = new Float64Array(width);
  const add = (k: number, sign: number) => {
    for (let j = 0, i = k * width; j < width; j++, i++) sum[j]! += sign * values[i]!;
  };
  let [low, high, next] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    while (next < from.length && from[next]! < k) next++;
    while (high < Math.min(from.length, next + aroundBeats)) add(from[high++]!, 1);
    while (low < Math.min(high, next - aroundBeats)) add(from[low++]!, -1);
    const own = from[next] === k ? 1 : 0;
    const n = high - low - own;
    let product = 0;
    let power = 0;
    for (let j = 0, i = k * width; j < width; j++, i++) {
      const usual = (sum[j]! - own * values[i]!) / n;
      product += usual * values[i]!;
      power += usual * usual;
    }
    size[k] = n > 0 && power > 0 ? product / power : 1;
  }
  return size;
}

/** How far a size of 1 stands out of the sizes of the beats `from` around each beat. */
function clearness(size: Float32Array, from: Int32Array): Float32Array {
  const deviations = Float32Array.from(from, k => Math.abs(size[k]! - 1));
  let next = 0;
  return size.map((_, k) => {
    while (next < from.length && from[next]! < k) next++;
    const deviation = perDeviation * medianAt(deviations, next, aroundBeats);
    return deviation > 0 ? 1 / deviation : 0;
  });
}
