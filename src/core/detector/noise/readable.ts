import { selected } from '../local';
import { powerSteps } from './fine';

/** A value for each 3 s, over 9 s. */
const cellBlocks = 25;
const aroundBlocks = 25;
const loudShare = 0.94;
const quietShare = 0.26;

/** Fine steps for each value. */
export const cellSteps = powerSteps * cellBlocks;

/**
 * How far beats stand out from what lies between them, per cell: the amplitude of the loudest short blocks around it
 * over that of the quiet ones. Beats fill a part of the blocks, however fast or slow they come; noise fills all of them.
 * Blocks without any power have no signal; 0 where there are only such.
 */
export function fillReadability(power: Float32Array, blocks: number, out: Float32Array): void {
  const near = new Float32Array(cellBlocks + 2 * aroundBlocks);
  for (let g = 0; g < out.length; g++) {
    const from = Math.max(0, g * cellBlocks - aroundBlocks);
    const to = Math.min(blocks, (g + 1) * cellBlocks + aroundBlocks);
    let n = 0;
    for (let b = from; b < to; b++) if (power[b]! > 0) near[n++] = power[b]!;
    out[g] = n < cellBlocks ? 0 : Math.sqrt(quantile(near, n, loudShare) / quantile(near, n, quietShare));
  }
}

const quantile = (values: Float32Array, n: number, share: number) => selected(values, n, Math.floor(share * n));
