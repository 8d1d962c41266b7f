import { Absence } from './absence';
import { ApexPlaces, type Place } from './apex-places';
import type { Candidates } from './candidates';
import { findCandidates } from './candidates';
import { alike, Correlation } from './correlation';
import type { LeadsWindow } from './leads';
import type { LocalRhythm } from './local';
import { firstLevel, LocalStatistics, topsOf } from './local';
import { NoiseSolver } from './noise/solver';
import type { NoiseTuning } from './noise/tuning';
import { bestPath, pathProbabilities } from './path';
import { steepness } from './steepness';
import type { WindowBeat } from './window-beat';

/** What one window holds. */
export interface WindowBeats {
  readonly beats: readonly WindowBeat[];
  /** Waves that are no beats, or not likely: working sample, and probability of a beat all the same. */
  readonly others: readonly WindowBeat[];
  /** Waves and beats' energy per grid cell, before noise was looked through. */
  readonly candidates: Candidates;
  readonly level: Float32Array;
  /** Working samples for each value of `level`. */
  readonly levelCell: number;
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
/** The quantile that is the loudest, and what of the others makes no difference to anything here. */
const noMatter = { share: loudestShare, least: lowestThreshold ** 2, leastLoud: quiet };
/**
 * Such a beat stays one where the search in noise has no family for it: for this long on either side nothing stands out, and
 * its evidence counts so many times beside that of shapes, which is not bounded.
 */
const oddAroundS = 9;
const oddTimes = 3;
/** Log-odds lost per unit of Fisher's z (the inverse hyperbolic tangent of the correlation), and the most. */
const unlikeSlope = 4;
const mostUnlike = 2;
/** A wave of less evidence is no beat however it looks. */
const leastForSimilarity = -3;
/** Log-odds that similarity to a family adds at most, and that dissimilarity to all of them takes at most. */
const mostLikeFamily = 3;
const mostUnlikeFamilies = 1;
const mostSimilarity = 0.995;
/**
 * A wave this many times as steep as the beats around it that is no more than so much like a family loses evidence: so
 * much for each factor e that it is steeper than beats commonly are, per unit of Fisher's z that it is less alike, and the most.
 */
const tooSteepFrom = 2;
const commonly = 1.5;
const ofAKind = 0.8;
const steepSlope = 10;
const mostSteep = 3;
const rounds = 3;

export class WindowAnalyser {
  private readonly workingHz: number;
  private readonly local: LocalStatistics;
  private readonly noise: NoiseSolver;
  private readonly tuning: NoiseTuning;

  constructor(workingHz: number, step: number, leadCount: number, tuning: NoiseTuning) {
    this.workingHz = workingHz;
    this.tuning = tuning;
    this.local = new LocalStatistics(workingHz);
    this.noise = new NoiseSolver(workingHz, step, leadCount, tuning);
  }

  /** The window moves on by so many working samples. */
  moveOn(by: number): void {
    this.noise.moveOn(by);
  }

  get cell(): number {
    return this.local.cell;
  }

  /**
   * Finds the beats of a window of `n` working samples. Candidates before `from` were decided with the window before:
   * they are beats exactly when they lie on one of `settled` (working samples).
   */
  analyse(leads: LeadsWindow, n: number, unseen: Int32Array, from: number, settled: readonly number[]): WindowBeats {
    const { energy } = leads;
    const candidates = findCandidates(energy, n, this.workingHz, unseen);
    const cells = Math.max(1, Math.ceil(n / this.cell));
    const level = new Float32Array(cells);
    const noise = new Float32Array(cells);
    const loudest = new Float32Array(cells);
    const rhythm: LocalRhythm = { rr: new Float32Array(cells), spread: new Float32Array(cells) };
    const evidence = new Float32Array(candidates.count);
    const chosen = new Uint8Array(candidates.count);
    const path = { candidates, evidence, rhythm, cell: this.cell, workingHz: this.workingHz };
    firstLevel(topsOf(energy, n, this.workingHz), this.workingHz, this.cell, level);
    for (let i = 0; i < candidates.count; i++)
      chosen[i] = candidates.energy[i]! > 0.4 * level[Math.floor(candidates.at[i]! / this.cell)]! ? 1 : 0;
    const before = new Uint8Array(candidates.count);
    const absence =
      leads.leads.length > 1 ? new Absence(leads, n, this.workingHz, candidates, this.local, cells) : null;
    for (let round = 0; round < rounds; round++) {
      if (round > 0) this.local.usualOfBeats(candidates, chosen, level);
      // Cells without such a wave keep nothing of the round before.
      loudest.fill(0);
      this.local.ofOthers(candidates, chosen, { ...noMatter, level }, noise, loudest);
      fillEvidence(candidates, this.cell, level, noise, evidence);
      if (round > 0) {
        const { workingHz } = this;
        const each = leads.leads.map(({ band }) => new Correlation({ band, n, workingHz, candidates, chosen }));
        this.weighSimilarity(each, candidates, level, noise, loudest, evidence);
        absence?.weigh(chosen, evidence);
      }
      holdSettled(candidates, from, settled, evidence);
      before.set(chosen);
      bestPath(path, chosen);
      // From the second round on, the same choice gives the same levels and rhythm, and so the same choice again.
      if (round === rounds - 1 || (round > 0 && same(before, chosen))) break;
      this.local.rhythm(candidates, chosen, rhythm);
    }
    const apexes = new ApexPlaces(leads, n, this.workingHz, this.tuning);
    let places = apexes.of(beatsOf(candidates, chosen));
    this.noise.learn(leads, places, from);
    if (this.weighFamilies(leads, candidates, chosen, evidence)) {
      holdSettled(candidates, from, settled, evidence);
      before.set(chosen);
      bestPath(path, chosen);
      if (!same(before, chosen)) places = apexes.of(beatsOf(candidates, chosen));
    }
    const probability = new Float32Array(candidates.count);
    pathProbabilities(path, this.tuning.sharpness, probability);
    const all = withProbability(places, candidates, chosen, probability);
    const standing = () => this.standingOf(candidates, chosen, evidence, level, noise, loudest);
    const { beats, others } = this.noise.solve(leads, all, from, standing);
    return {
      beats: apexes.own(beats),
      others,
      candidates,
      level,
      levelCell: this.cell,
    };
  }

  /**
   * Adds evidence to candidates that look like a known family, and takes some from those that look like none: so that a
   * small ectopic beat counts more than the T wave after it, and a beat more than an artefact beside it. True when there
   * was something to weigh.
   */
  private weighFamilies(
    leads: LeadsWindow,
    candidates: Candidates,
    chosen: Uint8Array,
    evidence: Float32Array,
  ): boolean {
    const { familyOdds, familyAlike } = this.tuning;
    if (familyOdds === 0) return false;
    const steep = steepness(leads, this.workingHz, candidates, chosen, evidence, leastEvidence);
    let some = false;
    for (let i = 0; i < candidates.count; i++) {
      const tooSteep = steep[i]! > tooSteepFrom;
      // What is clear either way stays so, but for edges that no beat has.
      if (evidence[i]! <= leastEvidence || (evidence[i]! >= mostEvidence && !tooSteep)) continue;
      const similarity = this.noise.similarity(leads, candidates.at[i]!);
      if (tooSteep) {
        evidence[i]! -= steepCost(steep[i]!, similarity ?? familyAlike);
        some = true;
      }
      if (similarity === null || evidence[i]! >= mostEvidence) continue;
      const odds = familyOdds * (Math.atanh(Math.min(mostSimilarity, similarity)) - Math.atanh(familyAlike));
      evidence[i]! += Math.max(-mostUnlikeFamilies, Math.min(mostLikeFamily, odds));
      some = true;
    }
    return some;
  }

  /** Log-odds of each beat to be one whatever its shape: minus infinity but where nothing else stands out. */
  private standingOf(
    candidates: Candidates,
    chosen: Uint8Array,
    evidence: Float32Array,
    level: Float32Array,
    usual: Float32Array,
    loudest: Float32Array,
  ): number[] {
    const reach = Math.round((oddAroundS * this.workingHz) / this.cell);
    const out: number[] = [];
    for (let i = 0; i < candidates.count; i++) {
      if (!chosen[i]) continue;
      const middle = Math.floor(candidates.at[i]! / this.cell);
      let quietHere = true;
      for (let g = Math.max(0, middle - reach); g <= Math.min(level.length - 1, middle + reach); g++)
        if (loudest[g]! - usual[g]! > quiet * level[g]!) quietHere = false;
      out.push(quietHere ? oddTimes * Math.min(mostEvidence, evidence[i]!) : Number.NEGATIVE_INFINITY);
    }
    return out;
  }

  /** Takes evidence from candidates that lie in noise and are unlike the beats around them in every lead. */
  private weighSimilarity(
    leads: readonly Correlation[],
    candidates: Candidates,
    level: Float32Array,
    usual: Float32Array,
    loudest: Float32Array,
    evidence: Float32Array,
  ): void {
    for (let i = 0; i < candidates.count; i++) {
      const g = Math.floor(candidates.at[i]! / this.cell);
      const noise = ((loudest[g]! - usual[g]!) / level[g]! - quiet) / (noisy - quiet);
      if (!(noise > 0) || evidence[i]! < leastForSimilarity) continue;
      let most = -1;
      for (let k = 0; k < leads.length && most < alike; k++) most = Math.max(most, leads[k]!.of(i));
      const unlike = unlikeSlope * (Math.atanh(alike) - Math.atanh(most));
      evidence[i]! -= Math.min(1, noise) * Math.min(mostUnlike, unlike);
    }
  }
}

/** Working samples of the chosen candidates. */
function beatsOf({ at, count }: Candidates, chosen: Uint8Array): number[] {
  const out: number[] = [];
  for (let i = 0; i < count; i++) if (chosen[i]) out.push(at[i]!);
  return out;
}

/** The beats with their probability, and the other candidates where a beat is not out of question. */
function withProbability(
  places: readonly Place[],
  { at, count }: Candidates,
  chosen: Uint8Array,
  chances: Float32Array,
): { beats: WindowBeat[]; others: WindowBeat[] } {
  const beats: WindowBeat[] = [];
  const others: WindowBeat[] = [];
  for (let i = 0; i < count; i++) {
    const probability = chances[i]!;
    if (chosen[i]) {
      const { at: place, apex, up, lead } = places[beats.length]!;
      beats.push({ at: place, probability, apex, up, lead, inNoise: false });
    } else if (probability > 1e-3) {
      others.push({ at: at[i]!, probability, apex: at[i]!, up: true, lead: 0, inNoise: false });
    }
  }
  return { beats, others };
}

function steepCost(steep: number, similarity: number): number {
  const unlike = Math.max(0, Math.atanh(ofAKind) - Math.atanh(Math.min(mostSimilarity, similarity)));
  return Math.min(mostSteep, steepSlope * Math.log(steep / commonly) * unlike);
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
