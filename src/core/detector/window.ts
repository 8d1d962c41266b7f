import type { Deflections } from './apex';
import { deflections } from './apex';
import type { Candidates } from './candidates';
import { findCandidates } from './candidates';
import { alike, Correlation, type CorrelationInput } from './correlation';
import type { EnvelopeWidths } from './envelope';
import { envelopeWidths, fillEnvelope } from './envelope';
import type { LocalRhythm } from './local';
import { firstLevel, LocalStatistics } from './local';
import { bestPath } from './path';

/** What one window holds, in working samples of the window. */
export interface WindowBeats {
  readonly candidates: Candidates;
  /** 1 where the candidate was chosen as a beat. */
  readonly chosen: Uint8Array;
  /** Beats' energy per grid cell. */
  readonly level: Float32Array;
}

/**
 * A candidate is as likely a beat as not at the geometric mean of the local beats' and the local other waves' energy,
 * held between these shares of the beats' energy (adaptive threshold between a signal and a noise level, Pan &
 * Tompkins, IEEE TBME 1985;32:230).
 */
const lowestThreshold = 0.2;
const highestThreshold = 0.7;
/** Log-odds per factor e of energy, and their bounds. */
const evidenceSlope = 2.2;
const leastEvidence = -5;
const mostEvidence = 4;
/** Below this share of the beats' energy no interval, however long, makes a wave a beat. */
const floorShare = 0.1;
/**
 * Among noise, a wave that is unlike the beats around it loses evidence. Noise is told by how far the loudest of the
 * other waves stand out from the usual one, as a share of the beats' energy: T, P and flutter waves recur alike, artefacts
 * do not. Where nothing stands out, an odd wave is an odd beat. The loss begins at the first share and is full at the
 * second.
 */
const loudestShare = 0.9;
const quiet = 0.15;
const noisy = 0.35;
/** Log-odds lost per unit of Fisher's z (the inverse hyperbolic tangent of the correlation), and the most. */
const unlikeSlope = 4;
const mostUnlike = 2;
/** A wave of less evidence is no beat however it looks. */
const leastForLikeness = -3;
const rounds = 3;

export class WindowAnalyser {
  private readonly workingHz: number;
  private readonly widths: EnvelopeWidths;
  private readonly local: LocalStatistics;
  private readonly smooth: Float32Array;
  readonly band: Float32Array;
  readonly energy: Float32Array;

  constructor(workingHz: number, capacity: number) {
    this.workingHz = workingHz;
    this.widths = envelopeWidths(workingHz);
    this.local = new LocalStatistics(workingHz);
    this.smooth = new Float32Array(capacity);
    this.band = new Float32Array(capacity);
    this.energy = new Float32Array(capacity);
  }

  get cell(): number {
    return this.local.cell;
  }

  /**
   * Finds the beats of `x[0..n)`. Candidates before `from` were decided with the window before: they are beats exactly
   * when they lie on one of `settled` (working samples).
   */
  analyse(x: Float32Array, n: number, unseen: Int32Array, from: number, settled: readonly number[]): WindowBeats {
    fillEnvelope(x, n, this.widths, this.smooth, this.band, this.energy);
    const candidates = findCandidates(this.energy, n, this.workingHz, unseen);
    const cells = Math.max(1, Math.ceil(n / this.cell));
    const level = new Float32Array(cells);
    const noise = new Float32Array(cells);
    const rhythm: LocalRhythm = { rr: new Float32Array(cells), spread: new Float32Array(cells) };
    const evidence = new Float32Array(candidates.count);
    const chosen = new Uint8Array(candidates.count);
    firstLevel(this.energy, n, this.workingHz, this.cell, level);
    for (let i = 0; i < candidates.count; i++)
      chosen[i] = candidates.energy[i]! > 0.4 * level[Math.floor(candidates.at[i]! / this.cell)]! ? 1 : 0;
    const before = new Uint8Array(candidates.count);
    for (let round = 0; round < rounds; round++) {
      if (round > 0) this.local.quantile(candidates, chosen, 1, 0.5, level);
      this.local.quantile(candidates, chosen, 0, 0.5, noise);
      fillEvidence(candidates, this.cell, level, noise, evidence);
      if (round > 0)
        this.weighLikeness(
          { band: this.band, n, workingHz: this.workingHz, candidates, chosen },
          level,
          noise,
          evidence,
        );
      holdSettled(candidates, from, settled, evidence);
      before.set(chosen);
      bestPath({ candidates, evidence, rhythm, cell: this.cell, workingHz: this.workingHz }, chosen);
      // From the second round on, the same choice gives the same levels and rhythm, and so the same choice again.
      if (round === rounds - 1 || (round > 0 && same(before, chosen))) break;
      this.local.rhythm(candidates, chosen, rhythm);
    }
    return { candidates, chosen, level };
  }

  /** Takes evidence from candidates that lie in noise and are unlike the beats around them. */
  private weighLikeness(
    input: CorrelationInput,
    level: Float32Array,
    usual: Float32Array,
    evidence: Float32Array,
  ): void {
    const { candidates, chosen } = input;
    const loudest = new Float32Array(level.length);
    this.local.quantile(candidates, chosen, 0, loudestShare, loudest);
    const correlation = new Correlation(input);
    for (let i = 0; i < candidates.count; i++) {
      const g = Math.floor(candidates.at[i]! / this.cell);
      const noise = ((loudest[g]! - usual[g]!) / level[g]! - quiet) / (noisy - quiet);
      if (!(noise > 0) || evidence[i]! < leastForLikeness) continue;
      const unlike = unlikeSlope * (Math.atanh(alike) - Math.atanh(correlation.of(i)));
      evidence[i]! -= Math.min(1, noise) * Math.min(mostUnlike, unlike);
    }
  }

  deflections(n: number, at: ArrayLike<number>): Deflections {
    return deflections(this.band, n, at, this.workingHz);
  }
}

function same(a: Uint8Array, b: Uint8Array): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

function fillEvidence(
  c: Candidates,
  cell: number,
  level: Float32Array,
  noise: Float32Array,
  evidence: Float32Array,
): void {
  for (let i = 0; i < c.count; i++) {
    const g = Math.floor(c.at[i]! / cell);
    const beats = level[g]!;
    const energy = c.energy[i]!;
    if (energy <= floorShare * beats || energy === 0) {
      evidence[i] = 2 * leastEvidence;
      continue;
    }
    const share = Math.min(highestThreshold, Math.max(lowestThreshold, Math.sqrt(noise[g]! / beats)));
    const odds = evidenceSlope * Math.log(energy / (share * beats));
    evidence[i] = Math.max(leastEvidence, Math.min(mostEvidence, odds));
  }
}

function holdSettled(c: Candidates, from: number, settled: readonly number[], evidence: Float32Array): void {
  let k = 0;
  for (let i = 0; i < c.count && c.at[i]! < from; i++) {
    while (k < settled.length && settled[k]! < c.at[i]! - 1) k++;
    evidence[i] = k < settled.length && settled[k]! <= c.at[i]! + 1 ? 1000 : -1000;
  }
}
