import { createPyramidBuilder } from '../../src/core/recording/pyramid';
import { type Bench, type Figure, mediansInTurn } from './measure';
import { plainWord } from './plain-edf';

/** One lead at 1000 Hz. */
function hours(count: number): Int16Array {
  const words = new Int16Array(count * 3_600_000);
  const once = Int16Array.from({ length: 60_000 }, (_, i) => plainWord(0, i, 1000));
  for (let at = 0; at < words.length; at += once.length) words.set(once, at);
  return words;
}

function sum(words: Int16Array): number {
  let total = 0;
  for (let i = 0; i < words.length; i++) total += words[i]!;
  return total;
}

/** Pushed in blocks of the size that the import uses. */
function build(words: Int16Array): void {
  const builder = createPyramidBuilder('int16');
  for (let at = 0; at < words.length; at += 262_144) builder.push(words.subarray(at, at + 262_144));
  builder.finish();
}

export const pyramidBench: Bench = {
  name: 'pyramid',
  says: 'building the min/max pyramid of one lead at 1000 Hz, against one pass that sums the same samples',
  async run() {
    const figures: Figure[] = [];
    let total = 0;
    for (const count of [1, 6, 24]) {
      const words = hours(count);
      const [summing, building] = mediansInTurn(7, [() => (total += sum(words)), () => build(words)]) as [
        number,
        number,
      ];
      figures.push({ of: `${count} h`, value: building / summing, unit: 'x', limit: 3 });
      figures.push({ of: `${count} h, time`, value: building, unit: 'ms', limit: null });
    }
    if (Number.isNaN(total)) throw new Error('the sum was not computed');
    return figures;
  },
};
