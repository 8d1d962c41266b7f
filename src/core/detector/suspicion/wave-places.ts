import type { SampleArray } from '../../recording/recording';
import { decimate } from '../decimate';
import { armSamples } from '../peakedness';

/**
 * Where another lead of the recorder has its waves: of each cell its most peaked sample. All that is kept of such a lead
 * (4 MB for 24 hours).
 */
export interface WavePlaces {
  /** Working sample of the peak, from the start of the cell. */
  readonly offset: Uint16Array;
  /** How peaked it is, in words of that lead. */
  readonly height: Float32Array;
}

/** Takes the words of one lead at the rate of the features, in pieces of any size. */
export class WaveExtractor {
  private readonly arm: number;
  /** Words that do not fill a working sample yet. */
  private readonly rest: number[] = [];
  private readonly one = new Float32Array(1);
  /** A ring of the last working samples: twice the arm and the one in the middle. */
  private readonly ring: Float32Array;
  private value = 0;
  private count = 0;
  private offset = new Uint16Array(1 << 10);
  private height = new Float32Array(1 << 10);
  private means = new Float32Array(1 << 12);

  constructor(
    workingHz: number,
    private readonly factor: number,
    private readonly cell: number,
  ) {
    this.arm = armSamples(workingHz);
    this.ring = new Float32Array(2 * this.arm + 1);
  }

  push(words: SampleArray): void {
    let from = 0;
    while (this.rest.length > 0 && from < words.length) this.pushOne(words[from++]!);
    const step = this.means.length * this.factor;
    const whole = words.length - ((words.length - from) % this.factor);
    for (; from < whole; from += step) {
      const part = words.subarray(from, Math.min(whole, from + step)) as SampleArray;
      const n = part.length / this.factor;
      decimate(part, this.factor, this.means, 0, n);
      for (let i = 0; i < n; i++) this.take(this.means[i]!);
    }
    for (let i = whole; i < words.length; i++) this.pushOne(words[i]!);
  }

  finish(): WavePlaces {
    for (let k = 0; k < this.arm && this.count > 0; k++) this.take(this.value);
    const cells = Math.max(0, Math.ceil((this.count - this.arm) / this.cell));
    return { offset: this.offset.slice(0, cells), height: this.height.slice(0, cells) };
  }

  private pushOne(word: number): void {
    this.rest.push(word);
    if (this.rest.length < this.factor) return;
    decimate(Float32Array.from(this.rest), this.factor, this.one, 0, 1);
    this.rest.length = 0;
    this.take(this.one[0]!);
  }

  /** What is no number holds the last value. A sample is judged once those one arm later are there. */
  private take(value: number): void {
    const { ring, arm } = this;
    if (Number.isFinite(value)) this.value = value;
    if (this.count === 0) ring.fill(this.value);
    const newest = this.count % ring.length;
    ring[newest] = this.value;
    this.count++;
    const at = this.count - 1 - arm;
    if (at < 0) return;
    const c = Math.floor(at / this.cell);
    if (c === this.height.length) this.grow();
    const oldest = newest + 1 === ring.length ? 0 : newest + 1;
    const height = Math.abs(ring[this.ringAt(newest - arm)]! - (ring[oldest]! + this.value) / 2);
    if (height > this.height[c]!) {
      this.height[c] = height;
      this.offset[c] = at - c * this.cell;
    }
  }

  private ringAt(k: number): number {
    return k < 0 ? k + this.ring.length : k;
  }

  private grow(): void {
    const [offset, height] = [this.offset, this.height];
    this.offset = new Uint16Array(2 * offset.length);
    this.height = new Float32Array(2 * height.length);
    this.offset.set(offset);
    this.height.set(height);
  }
}

/** How far from a mark another lead's wave of the same beat may lie. */
const reachS = 0.13;
/** Cells on either side that show what is usual between beats. */
const around = 10;
/** A wave stands out when it is so many times as peaked as the middle cell around; noise alone does not. */
const standsOut = 3;

/**
 * How far from a working sample the other lead has its most peaked wave, in working samples; null where none stands out.
 */
export function waveBeside(lead: WavePlaces, at: number, cell: number, workingHz: number): number | null {
  const { offset, height } = lead;
  const reach = Math.round(reachS * workingHz);
  const place = (c: number) => c * cell + offset[c]!;
  let best = -1;
  for (let c = Math.floor((at - reach) / cell); c * cell <= at + reach; c++) {
    if (c < 0 || c >= height.length || Math.abs(place(c) - at) > reach) continue;
    if (best < 0 || height[c]! > height[best]!) best = c;
  }
  if (best < 0 || height[best]! < standsOut * middle(height, best)) return null;
  return height[best]! > 0 ? place(best) - at : null;
}

const near = new Float32Array(2 * around + 1);

function middle(height: Float32Array, c: number): number {
  let n = 0;
  for (let k = Math.max(0, c - around); k <= Math.min(height.length - 1, c + around); k++) {
    let p = n++;
    for (; p > 0 && near[p - 1]! > height[k]!; p--) near[p] = near[p - 1]!;
    near[p] = height[k]!;
  }
  return near[n >> 1] ?? 0;
}
