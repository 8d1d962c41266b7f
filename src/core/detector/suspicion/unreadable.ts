import { lowerBound } from '../../marks/markset';
import { subtract, union } from '../../marks/spans';
import type { Span } from '../../units';
import type { BeatTable } from './beats';
import type { SignalFeatures } from './features';

/**
 * Stretches in which a person may find the beats hidden: those that the detector is unsure of; where what is quietest
 * within half a second is a good part of a beat's height, and the marks in it look like no beat; or where the line does not
 * change at all.
 */
/** Levels of that quiet part, as shares of the usual beat's height; a long noisy stretch is looked at again at the next. */
const levels = [0.35, 0.6, 1];
const aroundCells = 4;
const quietShare = 0.3;
const joinS = 0.6;
const leastS = 1.2;
/** Marks in the stretch that are more alike than this show that its beats can be seen. */
const stillSeen = 0.7;

/** In samples of the recording, sorted, disjoint. What is `known` to be unreadable, such as gaps, is left out. */
export function unreadableProposals(
  features: SignalFeatures,
  beats: BeatTable,
  known: readonly Span[],
  unsure: readonly Span[],
): Span[] {
  const least = leastS * features.samplingRateHz;
  return union(noisyStretches(features, beats), subtract(unsure, known)).filter(
    s => s.end - s.start >= least && !known.some(k => k.start < s.end && k.end > s.start),
  );
}

function noisyStretches(features: SignalFeatures, beats: BeatTable): Span[] {
  const height = median(Float32Array.from(beats.amplitude).sort());
  if (!(height > 0)) return [];
  const noise = quietParts(features, height);
  const cellSamples = features.cell * features.factor;
  const end = features.working.length * features.factor;
  return stretchesFrom({ features, beats, noise }, 0, 0, noise.length).map(
    ([a, b]) => ({ start: a * cellSamples, end: Math.min(end, b * cellSamples) }) as Span,
  );
}

interface Looked {
  readonly features: SignalFeatures;
  readonly beats: BeatTable;
  readonly noise: Float32Array;
}

/** Pairs of cells [from, to) at a level; where beats can still be seen, what is left of it at the next level. */
function stretchesFrom(looked: Looked, level: number, from: number, to: number): [number, number][] {
  const { features, noise } = looked;
  const perSecond = features.workingHz / features.cell;
  const runs: [number, number][] = [];
  for (let c = from; c < to; c++) {
    if (noise[c]! < levels[level]!) continue;
    const last = runs.at(-1);
    if (last && c - last[1] <= joinS * perSecond) last[1] = c + 1;
    else runs.push([c, c + 1]);
  }
  return runs.flatMap(run => {
    if (run[1] - run[0] < leastS * perSecond) return [];
    if (correlationIn(looked, run) < stillSeen) return [run];
    return level + 1 < levels.length ? stretchesFrom(looked, level + 1, run[0], run[1]) : [];
  });
}

/** The range that all but the quietest cells around exceed, as a share of a beat's height; a flat line counts as most. */
function quietParts({ highest, lowest, still }: SignalFeatures, height: number): Float32Array {
  const out = new Float32Array(highest.length);
  const near = new Float32Array(2 * aroundCells + 1);
  for (let c = 0; c < out.length; c++) {
    if (still[c] === 1) {
      out[c] = Number.POSITIVE_INFINITY;
      continue;
    }
    let n = 0;
    for (let k = Math.max(0, c - aroundCells); k <= Math.min(out.length - 1, c + aroundCells); k++) {
      const range = highest[k]! - lowest[k]!;
      let p = n++;
      for (; p > 0 && near[p - 1]! > range; p--) near[p] = near[p - 1]!;
      near[p] = range;
    }
    out[c] = near[Math.floor(n * quietShare)]! / height;
  }
  return out;
}

/** Median similarity of the marks in a run of cells; 0 without any. */
function correlationIn({ features, beats }: Looked, [a, b]: [number, number]): number {
  const cellSamples = features.cell * features.factor;
  const inside: number[] = [];
  for (let i = lowerBound(beats.marks, a * cellSamples); i < beats.marks.length; i++) {
    if (beats.marks[i]! >= b * cellSamples) break;
    inside.push(beats.centredCorrelation[i]!);
  }
  return inside.length === 0 ? 0 : median(Float32Array.from(inside).sort());
}

function median(sorted: Float32Array): number {
  return sorted[sorted.length >> 1] ?? 0;
}
