/** One figure of a benchmark: a ratio of two times taken in the same run, or a plain time, with its limit beside. */
export interface Figure {
  /** E.g. '24 h' or '1 h, CSV'. */
  readonly of: string;
  readonly value: number;
  readonly unit: 'x' | 'ms' | 'MB/s' | 'MB' | 'of 240' | 'times';
  /** The value must not exceed it; null when it is only told. */
  readonly limit: number | null;
}

export interface Bench {
  readonly name: string;
  /** What is compared with what, in a sentence. */
  readonly says: string;
  run(): Promise<readonly Figure[]>;
}

/**
 * Medians of several pieces of work, taken turn by turn, so that a busy moment of the machine hits all of them. The
 * rounds before those counted warm up.
 */
export function mediansInTurn(rounds: number, works: readonly (() => void)[], warmUp = 1): number[] {
  const times = works.map(() => [] as number[]);
  for (let round = -warmUp; round < rounds; round++) {
    for (const [i, work] of works.entries()) {
      const before = performance.now();
      work();
      if (round >= 0) times[i]!.push(performance.now() - before);
    }
  }
  return times.map(t => t.sort((a, b) => a - b)[t.length >> 1]!);
}

/** Median of the processor time in ms of some rounds after one that warms up: work, not waiting for other programs. */
export function medianWorkMs(rounds: number, work: () => void): number {
  const times: number[] = [];
  for (let round = -1; round < rounds; round++) {
    const before = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(before);
    if (round >= 0) times.push((user + system) / 1000);
  }
  return times.sort((a, b) => a - b)[times.length >> 1]!;
}
