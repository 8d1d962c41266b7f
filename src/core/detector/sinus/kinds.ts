import type { Marks } from '../../marks/markset';
import { foldMarks, foldOf, unfolded } from '../suspicion/fold';
import { type BeatWaves, type LeadSignal, middleOf } from './beat-waves';
import { beatMeasures } from './measures';
import { judged, type NotSinusBeat } from './not-sinus';

/** Waves to lay over each other, 0.26 s before to 0.24 s after the middle of the QRS complex, in the first lead; see BeatWaves. */
export interface WavePicture {
  readonly stepSeconds: number;
  readonly waves: readonly Float32Array[];
}

/** One kind of proposed beats as a picture. */
export interface NotSinusKind extends WavePicture {
  readonly kind: string;
}

export interface NotSinusProposal {
  readonly beats: readonly NotSinusBeat[];
  readonly kinds: readonly NotSinusKind[];
  /** Sinus beats for comparison. */
  readonly sinus: WavePicture;
}

const mostWaves = 40;
const beforeS = 0.26;
const afterS = 0.24;

/** The proposal with its pictures: of each kind, waves spread over the whole recording. */
export function notSinusProposal(leads: readonly LeadSignal[], reviewed: Marks): NotSinusProposal {
  const fold = foldOf(leads[0]!.features.cuts);
  const marks = foldMarks(fold, reviewed);
  const measures = beatMeasures(leads, marks);
  const beats = judged(measures, marks);
  const index = new Map(Array.from(marks, (at, k) => [at, k] as const));
  const members = new Map<string, number[]>();
  for (const { at, kind } of beats) {
    const of = members.get(kind) ?? [];
    of.push(index.get(at)!);
    members.set(kind, of);
  }
  const picture = (of: readonly number[]) => pictureOf(measures.waves, measures.shape.lag, of);
  const proposed = new Set<number>(beats.map(b => b.at));
  const others = [...measures.shape.sinusBeats].filter(k => !proposed.has(marks[k]!));
  return {
    beats: beats.map(b => ({ ...b, at: unfolded(fold, b.at) })),
    kinds: [...members].map(([kind, of]) => ({ kind, ...picture(of) })),
    sinus: picture(others),
  };
}

function pictureOf(waves: BeatWaves, lag: Int8Array, beats: readonly number[]): WavePicture {
  const before = Math.round(beforeS * waves.stepsPerSecond);
  const after = Math.round(afterS * waves.stepsPerSecond);
  const each = Math.max(1, beats.length / mostWaves);
  const picked: Float32Array[] = [];
  for (let i = 0; i < beats.length && picked.length < mostWaves; i += each) {
    const k = beats[Math.floor(i)]!;
    if (waves.whole[k] === 0) continue;
    const middle = middleOf(waves, k) + Math.max(before - waves.middle, Math.min(waves.middle - after, lag[k]!));
    picked.push(waves.leads[0]!.slice(middle - before, middle + after + 1));
  }
  return { stepSeconds: 1 / waves.stepsPerSecond, waves: picked };
}
