import { nthLargest, selected } from '../selection';
import { powerSteps } from './fine';

/** A value for each 3 s, over 9 s. */
const cellBlocks = 25;
const aroundBlocks = 25;
const loudShare = 0.94;
const quietShare = 0.26;

/** Of a line that does not move at all between beats. */
const clearest = 100;
/** Power of a block that has no signal. */
export const noSignal = -1;

/** Fine steps for each value. */
export const cellSteps = powerSteps * cellBlocks;

/**
 * How far beats stand out from what lies between them, per cell: the amplitude of the loudest short blocks around it
 * over that of the quiet ones. Beats fill a part of the blocks, however fast or slow they come; noise fills all of them.
 * 0 where there is no signal, at most `clearest`.
 */
export function fillReadability(power: Float32Array, blocks: number, out: Float32Array): void {
  const near = new Float32Array(cellBlocks + 2 * aroundBlocks);
  for (let g = 0; g < out.length; g++) {
    const from = Math.max(0, g * cellBlocks - aroundBlocks);
    const to = Math.min(blocks, (g + 1) * cellBlocks + aroundBlocks);
    let n = 0;
    for (let b = from; b < to; b++) if (power[b] !== noSignal) near[n++] = power[b]!;
    const at = Math.floor(loudShare * n);
    const loud = n < cellBlocks ? 0 : nthLargest(near, n, n - at);
    out[g] = loud > 0 ? Math.min(clearest, Math.sqrt(loud / selected(near, n, Math.floor(quietShare * n)))) : 0;
  }
}
