import { cssPxPerMm } from '../../../src/core/units';
import '../../../src/views/paper.css';
import { span } from '../../../src/core/units';
import { Overview } from '../../../src/views/overview/overview';
import { attachOverviewDrag } from '../../../src/views/overview/overview-drag';
import { type StripModel, type StripView, sameClock, shiftedClock } from '../../../src/views/strip-chart/model';
import { StripChart } from '../../../src/views/strip-chart/strip-chart';
import { recorderOf, stage } from './staged';

/** ?seconds=300&start=0&speed=25&gain=10&rows=1&leads=1&both=0&theme=light&filter=&text=1 */
const query = new URLSearchParams(location.search);
const number = (name: string, usual: number) => Number(query.get(name) ?? usual);
document.documentElement.dataset['theme'] = query.get('theme') ?? 'light';

const seconds = number('seconds', 300);
const logger = stage('logger', 'adhesive logger', number('rate', 250), seconds, ['I', 'II', 'III'], 7);
const leads = [0, 1, 2].slice(0, number('leads', 1));
const note = query.get('filter') ?? undefined;
const recorders = [recorderOf(logger, leads, sameClock, note)];
if (query.get('both') === '1') {
  const band = stage('band', 'chest band', 130, seconds, ['chest'], 7);
  recorders.push({ ...recorderOf(band, [0], shiftedClock(0.35, 40)), selected: null, caret: null, suggestions: [] });
}
const model: StripModel = { recorders };
const view: StripView = {
  startSeconds: number('start', 0),
  mmPerSecond: number('speed', 25),
  mmPerMv: number('gain', 10),
  pxPerMm: cssPxPerMm,
  rows: number('rows', 1),
  devicePixelRatio: window.devicePixelRatio,
  theme: document.documentElement.dataset['theme'] ?? '',
  textScale: number('text', 1),
};
const chart = new StripChart(document.getElementById('strip')!);
chart.setModel(model);
chart.setView(view);
const overview = new Overview(document.getElementById('overview')!);
const first = recorders[0]!;
const showWindow = (startSeconds: number) => {
  chart.setView({ ...view, startSeconds });
  const { endSeconds } = chart.visibleSpan();
  overview.setWindow({
    shown: [{ startSeconds, endSeconds }],
    caretSeconds: (first.caret ?? 0) / first.samplingRateHz,
  });
};
overview.setLook(view.theme, view.textScale ?? 1);
overview.setModel({
  recorder: first,
  seen: [span(0, Math.round(first.sampleCount * 0.62))],
  sampled: [],
  standings: new Map(),
  signedOff: new Set(['seated radio watch']),
  suspicions: [...first.reviewed.filter((_, k) => k % 53 === 30)],
});
showWindow(view.startSeconds);
attachOverviewDrag(document.getElementById('overview')!, overview, {
  go: centre => showWindow(centre - chart.visibleSpan().rowSeconds / 2),
  centreSeconds: () => (chart.visibleSpan().startSeconds + chart.visibleSpan().endSeconds) / 2,
  drawn: (startSeconds, endSeconds) => console.log('drawn', startSeconds, endSeconds),
});
await chart.whenIdle();
await overview.whenIdle();
Object.assign(window, { chart, overview, model, view, ready: true });
