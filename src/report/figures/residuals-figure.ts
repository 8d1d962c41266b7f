import { type Column, dataTable } from '../csv/column';
import type { Figure } from './figure';
import { axisRange, frame, line, linearAxis, path, short } from './svg';

const width = 620;
const height = 220;

const columns: readonly Column<readonly [number, number]>[] = [
  ['second', 'seconds', ([second]) => second, 'time of the beat on the first clock'],
  ['apart_ms', 'ms', ([, apart]) => apart, 'beat of the second recorder less the line'],
];

/** What is left between two clocks after the line, for each beat that both have. */
export function residualsFigure(
  secondsA: Float64Array,
  residualsMs: Float64Array,
  names: readonly [string, string],
): Figure {
  const range = axisRange([...residualsMs, -10, 10])!;
  const last = secondsA.at(-1) ?? 60;
  const x = linearAxis(0, last / 60, 50, width - 10, 8);
  const y = linearAxis(range[0], range[1], height - 40, 14, 5);
  let dots = '';
  for (let i = 0; i < secondsA.length; i++)
    dots += `M${short(x.at(secondsA[i]! / 60))} ${short(y.at(residualsMs[i]!))}h1`;
  const body = `${frame(x, y, { x: `minutes on the clock of the ${names[0]}`, y: 'apart, ms' })}${line(50, y.at(0), width - 10, y.at(0), { width: 0.8, dash: '5 4' })}${path(dots || 'M0 0', { width: 1.2, opacity: 0.75 })}`;
  return {
    id: 'figure-residuals',
    title: `Residuals of the clocks of ${names[0]} and ${names[1]}`,
    legend: 'A dot for each beat of both recorders; dashed line: no difference.',
    description: `${residualsMs.length} beats that both have within 50 ms of the line; a slope means that the drift is not right, a level apart from 0 that the offset is not.`,
    drawing: { widthPx: width, heightPx: height, body },
    data: dataTable(
      'reviewed beats of both recorders',
      columns,
      Array.from(secondsA, (s, i) => [s, residualsMs[i]!] as const),
    ),
  };
}
