import type { Marks } from '../../src/core/marks/markset';
import { randomFrom } from '../../src/core/random';
import type { LeadSamples, Recording } from '../../src/core/recording/recording';
import { type Ecg, simulateEcg } from '../../src/core/simulate/ecg';
import { restingVariability } from '../../src/core/simulate/rhythm';
import { plainShape } from '../../src/core/simulate/waveform';

/**
 * A recording of hours out of two dozen simulated minutes: each minute of the day takes one at the hour's heart rate.
 * A tile is cut one interval after its last beat, so that the intervals at the seams are ordinary ones.
 */
export interface LongRecording {
  readonly recording: Recording;
  readonly leads: readonly LeadSamples[];
  readonly beats: Marks;
}

interface Tile {
  readonly ecg: Ecg;
  readonly length: number;
  /** True beats before the cut. */
  readonly beats: Marks;
}

const ratesBpm = [52, 60, 70, 84, 100, 130];
const seedsPerRate = 4;
/** Index into the rates by hour of the day, from midnight: sleep, morning, work, a run at six in the evening. */
const rateOfHour = [0, 0, 0, 0, 0, 0, 1, 2, 3, 3, 2, 2, 2, 3, 3, 3, 4, 4, 5, 4, 3, 2, 1, 0];

export function longRecording(hours: number, rateHz: number, leadCount: number, seed = 'long'): LongRecording {
  const tiles = Array.from({ length: ratesBpm.length * seedsPerRate }, (_, i) =>
    makeTile(ratesBpm[Math.floor(i / seedsPerRate)]!, rateHz, leadCount, `${seed}/${i}`),
  );
  const sampleCount = Math.round(hours * 3600 * rateHz);
  const { starts, chosen } = layTiles(tiles, sampleCount, rateHz, seed);
  const names = Array.from({ length: leadCount }, (_, i) => String.fromCharCode(65 + i));
  return {
    recording: {
      id: 'long',
      recorder: 'simulated recorder',
      samplingRateHz: rateHz,
      sampleCount,
      startedAt: '2026-09-12T00:00:00',
      leads: names.map(name => ({
        name,
        samplingRateHz: rateHz,
        sampleCount,
        format: 'int16',
        mvPerUnit: 0.005,
        offset: 0,
        fileUnit: 'mV',
      })),
      gaps: [],
      source: `simulated, seed "${seed}"`,
    },
    leads: names.map((_, lead) => ({
      sampleCount,
      read: (start, end) => readTiles(tiles, starts, chosen, lead, start, Math.min(end, sampleCount)),
    })),
    beats: layBeats(tiles, starts, chosen, sampleCount),
  };
}

function makeTile(bpm: number, rateHz: number, leadCount: number, seed: string): Tile {
  const random = randomFrom(`${seed}/noise`);
  const from = random.between(5, 40);
  const effort = [{ atSeconds: 0, heartRateBpm: bpm, breathsPerMinute: 12 + bpm / 12, settlingSeconds: 30 }];
  const ecg = simulateEcg(
    {
      rhythm: { durationSeconds: 62, effort, variability: restingVariability, ventricularPerMinute: 0.2 },
      shape: plainShape,
      recorder: {
        samplingRateHz: rateHz,
        durationSeconds: 62,
        leads: Array.from({ length: leadCount }, (_, i) => ({ name: String(i), angleDegrees: 55 - 40 * i })),
        mvPerUnit: 0.005,
        fullScaleMv: 5,
        mainsHz: 50,
        floorMv: 0.01,
        startSeconds: 0,
        driftPpm: 0,
        noise: [{ kind: 'muscle', fromSeconds: from, toSeconds: from + 8, levelMv: random.between(0.02, 0.15) }],
      },
    },
    seed,
  );
  const lead = 0.4 * rateHz;
  const fitting = ecg.beats.filter(b => b < 61 * rateHz);
  const last = fitting.at(-1)!;
  const length = Math.min(ecg.sampleCount, Math.round(last + (last - fitting.at(-2)!) - lead));
  return { ecg, length, beats: fitting.filter(b => b < length) };
}

function layTiles(tiles: readonly Tile[], sampleCount: number, rateHz: number, seed: string) {
  const random = randomFrom(`${seed}/order`);
  const starts: number[] = [];
  const chosen: number[] = [];
  for (let at = 0; at < sampleCount; ) {
    const hour = Math.floor(at / (3600 * rateHz)) % 24;
    const tile = rateOfHour[hour]! * seedsPerRate + random.integer(seedsPerRate);
    starts.push(at);
    chosen.push(tile);
    at += tiles[tile]!.length;
  }
  return { starts: Float64Array.from(starts), chosen };
}

function layBeats(tiles: readonly Tile[], starts: Float64Array, chosen: readonly number[], sampleCount: number): Marks {
  const out = new Int32Array(chosen.reduce((n, tile) => n + tiles[tile]!.beats.length, 0));
  let n = 0;
  for (const [i, tile] of chosen.entries()) {
    for (const beat of tiles[tile]!.beats) if (starts[i]! + beat < sampleCount) out[n++] = starts[i]! + beat;
  }
  return out.subarray(0, n);
}

function readTiles(
  tiles: readonly Tile[],
  starts: Float64Array,
  chosen: readonly number[],
  lead: number,
  start: number,
  end: number,
): Int16Array {
  const out = new Int16Array(Math.max(0, end - start));
  let lo = 0;
  for (let hi = starts.length - 1; lo < hi; ) {
    const mid = (lo + hi + 1) >> 1;
    if (starts[mid]! <= start) lo = mid;
    else hi = mid - 1;
  }
  for (let at = start; at < end; lo++) {
    const tile = tiles[chosen[lo]!]!;
    const from = at - starts[lo]!;
    const count = Math.min(tile.length - from, end - at);
    out.set(tile.ecg.leads[lead]!.subarray(from, from + count), at - start);
    at += count;
  }
  return out;
}
