import { useEffect, useRef } from 'react';
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { SampledPoint } from '../../core/sample/number';
import { percentLimits } from '../../core/score/percent-text';
import { useApp, usePart } from '../app-context';
import { colours, watchColours } from '../controls/look';

const heightPx = 150;

/** Between numbers at the axis of stretches: there is no half of one. */
const wholeSteps = [1, 10, 100, 1000, 10000].flatMap(power => [power, 2 * power, 5 * power]);

/** Estimate and 95 % interval in percent against the stretches reviewed. */
export function IntervalPlot({ track }: { track: readonly SampledPoint[] }) {
  const app = useApp();
  const host = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const latest = useRef(track);
  latest.current = track;
  const theme = usePart(app.prefs, p => p.theme);
  useEffect(() => {
    const place = host.current!;
    place.dataset['colours'] = colours(theme);
    const again = () => {
      plot.current?.destroy();
      plot.current = draw(place, latest.current);
    };
    again();
    const resized = new ResizeObserver(() => plot.current?.setSize({ width: place.clientWidth, height: heightPx }));
    resized.observe(place);
    const stop = watchColours(again);
    return () => {
      stop();
      resized.disconnect();
      plot.current?.destroy();
      plot.current = null;
    };
  }, [theme]);
  useEffect(() => plot.current?.setData(columns(track)), [track]);
  const { reviewed, interval } = track.at(-1)!;
  const words = `Interval after ${reviewed} stretches: ${percentLimits(interval, 2).join(' to ')} %`;
  return <div ref={host} className="interval-plot" role="img" aria-label={words} />;
}

function columns(track: readonly SampledPoint[]): uPlot.AlignedData {
  return [
    track.map(p => p.reviewed),
    track.map(p => p.interval[0]),
    track.map(p => p.interval[1]),
    track.map(p => p.estimate),
  ];
}

function draw(place: HTMLElement, track: readonly SampledPoint[]): uPlot {
  const ink = (name: string) => getComputedStyle(place).getPropertyValue(name).trim();
  const [soft, grid, line, wash] = [ink('--ink-soft'), ink('--grid-fine'), ink('--accent'), ink('--accent-wash')];
  const axis = { stroke: soft, grid: { stroke: grid, width: 1 }, ticks: { stroke: grid, width: 1 }, size: 34 };
  const edge = { stroke: line, width: 1, dash: [3, 3], points: { show: false } };
  return new uPlot(
    {
      width: place.clientWidth,
      height: heightPx,
      cursor: { show: false },
      legend: { show: false },
      scales: { x: { time: false }, y: { range: u => rangeOf(u.data[1] ?? []) } },
      axes: [
        { ...axis, label: 'stretches reviewed', labelSize: 16, incrs: wholeSteps },
        { ...axis, size: 46, label: 'quality %', labelSize: 16 },
      ],
      series: [{}, { ...edge }, { ...edge }, { stroke: line, width: 2, points: { show: false } }],
      bands: [{ series: [2, 1], fill: wash }],
    },
    columns(track),
    place,
  );
}

/** From the lower limit at half the way: the first intervals are so wide that nothing could be seen beside them. */
function rangeOf(low: ArrayLike<number | null | undefined>): [number, number] {
  const from = low[Math.floor(low.length / 2)] ?? 0;
  return [Math.max(0, Math.min(99, Math.floor(from))), 100];
}
