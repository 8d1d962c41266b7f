import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BeatCounts } from './beat-counts';

/** What the accuracy benchmarks last found; the README's tables are made from it. */
export interface Accuracy {
  readonly detector?: readonly DetectorRow[];
  readonly queue?: readonly QueueRow[];
}

export interface DetectorRow {
  /** A record, 'gross', or a level of added noise. */
  readonly label: string;
  readonly ours: BeatCounts;
  readonly plain: BeatCounts;
}

/** Planted mistakes of one kind, and how many of them lie in the top 1, 2 and 5 % of beats. */
export interface QueueRow {
  readonly label: string;
  readonly kind: string;
  readonly total: number;
  readonly ours: readonly number[];
  readonly baseline: readonly number[];
}

const path = join(import.meta.dirname, 'accuracy.json');

/** Keeps one part and leaves the other as it was. */
export function keepAccuracy(part: Accuracy): void {
  const known = existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as Accuracy) : {};
  writeFileSync(path, `${JSON.stringify({ ...known, ...part }, null, 2)}\n`);
}
