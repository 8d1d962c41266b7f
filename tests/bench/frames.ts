import { openSteps } from '../browser/step';
import { withPage } from './browser';
import type { Bench, Figure } from './measure';

type Steps = typeof import('../browser/pages/frame-steps');
type Pan = Awaited<ReturnType<Steps['panNothing']>>;

const hours = 27;
const windows = [
  { words: '10 s', sec: 10 },
  { words: '60 s', sec: 60 },
  { words: '24 h', sec: 86400 },
];
/** At this length the window holds about 99 marks of the made-up recording. */
const manyMarksSeconds = 72;

export const framesBench: Bench = {
  name: 'frames',
  says: 'panning 240 frames of the strip at 1600 x 400, with marks, in turn with a bare uPlot drawing the same columns',
  run: () =>
    withPage<Steps, Figure[]>('frame-steps', async ({ page, browser }) => {
      const baseURL = new URL(page.url()).origin;
      const figures: Figure[] = [];
      const frameAtRatio: number[] = [];
      for (const ratio of [1, 2]) {
        const viewport = { width: 1600, height: 500 };
        const context = await browser.newContext({ baseURL, deviceScaleFactor: ratio, viewport });
        const call = await openSteps<Steps>(await context.newPage(), 'frame-steps');
        // Nearly all of the thousands of frames of a review find the functions compiled, ours and uPlot's.
        await call('panAgainstBare', 10, hours);
        for (const { words, sec } of windows) {
          const { strip, bare } = await call('panAgainstBare', sec, hours);
          const of = `${words}, ratio ${ratio}`;
          if (sec === 10) frameAtRatio.push(strip.medianMs);
          figures.push(
            { of: `${of}: strip`, value: strip.medianMs, unit: 'ms', limit: null },
            { of: `${of}: against bare`, value: against(strip, bare), unit: 'x', limit: 1.5 },
            { of: `${of}: late frames`, value: strip.late, unit: 'of 240', limit: 0 },
            { of: `${of}: late frames, bare`, value: bare.late, unit: 'of 240', limit: null },
          );
        }
        const { marked, blank } = await call('panWithAndWithoutMarks', manyMarksSeconds, hours);
        const count = await call('marksIn', manyMarksSeconds, hours);
        const marks = `${count} marks against none, ratio ${ratio}`;
        figures.push({ of: marks, value: against(marked, blank), unit: 'x', limit: 1.5 });
        if (ratio === 1) {
          const { long, short } = await call('panLongAndShort', 10, hours, 1);
          figures.push({
            of: `10 s of ${hours} h against 10 s of 1 h`,
            value: against(long, short),
            unit: 'x',
            limit: 1.5,
          });
        }
        const idle = await call('panNothing');
        figures.push({
          of: `drawing nothing, ratio ${ratio}: late frames`,
          value: idle.late,
          unit: 'of 240',
          limit: null,
        });
        await context.close();
      }
      const growth = frameAtRatio[1]! / frameAtRatio[0]!;
      figures.push({ of: 'ratio 2 against ratio 1, 10 s', value: growth, unit: 'x', limit: 3 });
      return figures;
    }),
};

/** Median over the turns, each compared with the turn beside it: others use the machine too. */
function against(a: Pan, b: Pan): number {
  const ratios = a.turnsMs.map((ms, i) => ms / b.turnsMs[i]!).sort((x, y) => x - y);
  return (ratios[(ratios.length - 1) >> 1]! + ratios[ratios.length >> 1]!) / 2;
}
