import { useEffect, useRef } from 'react';
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { IntervalTrack } from '../../state/review/sampling';
import { useApp, usePart } from '../app-context';
import { colours, watchColours } from '../controls/look';

const heightPx = 150;

/** Estimate and 95 % interval in percent against the stretches reviewed. */
export function IntervalPlot({ track }: { track: IntervalTrack }) {
  const app = useApp();
  const host = useRef<HTMLDivElement>(null);
  const theme = usePart(app.prefs, p => p.theme);
  useEffect(() => {
    const place = host.current!;
    place.dataset['colours'] = colours(theme);
    let plot = draw(place, track);
    const again = () => {
      plot.destroy();
      plot = draw(place, track);
    };
    const resized = new ResizeObserver(() => plot.setSize({ width: place.clientWidth, height: heightPx }));
    resized.observe(place);
    const stop = watchColours(again);
    return () => {
      stop();
      resized.disconnect();
      plot.destroy();
    };
  }, [track, theme]);
  const last = track.stretches.length - 1;
  const words = `Interval after ${track.stretches[last]} stretches: ${track.low[last]!.toFixed(2)} to ${track.high[last]!.toFixed(2)} %`;
  return <div ref={host} className="interval-plot" role="img" aria-label={words} />;
}

function draw(place: HTMLElement, track: IntervalTrack): uPlot {
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
      scales: { x: { time: false }, y: { range: () => rangeOf(track) } },
      axes: [
        { ...axis, label: 'stretches reviewed', labelSize: 16 },
        { ...axis, size: 46, label: 'quality %', labelSize: 16 },
      ],
      series: [{}, { ...edge }, { ...edge }, { stroke: line, width: 2, points: { show: false } }],
      bands: [{ series: [2, 1], fill: wash }],
    },
    [track.stretches as number[], track.low as number[], track.high as number[], track.estimate as (number | null)[]],
    place,
  );
}

/** From the lower limit at half the way: the first intervals are so wide that nothing could be seen beside them. */
function rangeOf({ low }: IntervalTrack): [number, number] {
  const from = low[Math.floor(low.length / 2)] ?? 0;
  return [Math.max(0, Math.min(99, Math.floor(from))), 100];
}
