import { useEffect, useMemo, useReducer, useRef } from 'react';
import { fitRows } from '../../commands/display';
import { lookAtPage, offeredWords } from '../../commands/perform';
import { provenanceOf } from '../../core/report/provenance';
import type { Handling } from '../../core/review/privacy/identifying';
import { leaving } from '../../core/review/privacy/leaving';
import { shownSession } from '../../state/export/exporting';
import type { ReviewWorkspace } from '../../state/review/workspace';
import { isReadable, rowsApart } from '../../state/stores/view-store';
import { useApp, usePart, useWorkspace } from '../app-context';
import { colours, textScale, watchColours } from '../controls/look';
import { describeBeat } from '../strip-chart/describe';
import { AfterReact } from '../strip-chart/frame';
import type { StripModel, StripView as View } from '../strip-chart/model';
import { picturePng } from '../strip-chart/picture-png';
import { StripChart } from '../strip-chart/strip-chart';
import { stripPicture } from '../strip-chart/strip-picture';
import { leavingModel } from './leaving-model';
import { attachLooking, Looking } from './looking';
import { attachPointer } from './pointer';
import { createStripModel } from './strip-model';

/** The strip: React gives it a place, the chart draws by itself on every change of the stores. */
export function ReviewStrip({ modelOf = createStripModel }: { modelOf?: typeof createStripModel }) {
  const workspace = useWorkspace();
  const app = useApp();
  const host = useRef<HTMLDivElement>(null);
  const prefs = usePart(app.prefs, p => p);
  useEffect(() => {
    const chart = new StripChart(host.current!);
    const model = modelOf(workspace, app);
    // The chart measures in the middle of a frame: what follows from it waits for the frame's end.
    chart.onMeasure = m => {
      const geometry = { widthPx: m.plotWidthPx, rowsThatFit: m.rowsThatFit };
      queueMicrotask(() => fitRows(workspace, geometry));
    };
    const show = () => {
      chart.setView(viewOf(workspace, app));
      chart.setModel(model());
    };
    const later = new AfterReact(show);
    const stops = [
      later.stop,
      workspace.view.subscribe(later.ask),
      workspace.review.subscribe(later.ask),
      workspace.suspicions.subscribe(later.ask),
      workspace.signals.subscribe(() => chart.invalidate()),
      app.prefs.subscribe(show),
      watchColours(show),
      attachPointer(host.current!, chart, workspace, app),
      watchLooking(workspace, app),
    ];
    show();
    app.chart = {
      whenIdle: () => chart.whenIdle(),
      roomTaken: () => chart.roomTaken(),
      picture: (kind, handling) =>
        pictureFile(workspace, host.current!, model(), viewOf(workspace, app), kind, handling),
    };
    return () => {
      for (const stop of stops) stop();
      app.chart = null;
      chart.destroy();
    };
  }, [workspace, app, modelOf]);
  return (
    <div className="workspace-strip" data-theme={prefs.theme}>
      <div className="strip-host" ref={host} aria-hidden="true" />
      <StripDescription modelOf={modelOf} />
    </div>
  );
}

async function pictureFile(
  workspace: ReviewWorkspace,
  host: HTMLElement,
  model: StripModel,
  view: View,
  kind: 'svg' | 'png',
  handling: Handling,
) {
  const { session: own, log, others } = workspace.review.get();
  const left = leaving({ session: own, logs: [log, ...others] }, handling);
  const { session, names } = left;
  const shown = leavingModel(model, left, handling);
  const { onPeakToleranceMs, wrongPeakWindowMs } = session.settings;
  const notes = [
    `${session.title}, ${marksWords(shown, names.rater(log.header.rater))}; on the peak within ${onPeakToleranceMs} ms, wrong peak within ${wrongPeakWindowMs} ms`,
  ];
  // A review that is not to be seen yet is not named either.
  const seen = shownSession(workspace).logs.map(l => names.rater(l.header.rater));
  const facts = provenanceOf({ session, logs: left.logs.filter(l => seen.includes(l.header.rater)) });
  const svg = stripPicture({ model: shown, view, width: host.clientWidth, height: host.clientHeight, notes, facts });
  const blob = kind === 'png' ? await picturePng(svg) : new Blob([svg], { type: 'image/svg+xml' });
  return { name: `${session.id}-${view.startSeconds.toFixed(1)}s.${kind}`, blob };
}

function marksWords({ recorders }: StripModel, rater: string): string {
  const raters = recorders[0]?.raters;
  if (!raters) return `marks as reviewed by ${rater}`;
  const settled = raters.settled ? `, settled by ${rater}` : '';
  return `marks as reviewed by ${raters.above.name} and by ${raters.below.name}${settled}`;
}

function viewOf(workspace: ReviewWorkspace, app: ReturnType<typeof useApp>): View {
  const view = workspace.view.getState();
  const prefs = app.prefs.getState();
  const apart = rowsApart(view)?.map(r => r.startSeconds);
  return {
    startSeconds: view.startSeconds,
    mmPerSecond: view.mmPerSecond,
    mmPerMv: view.mmPerMv,
    pxPerMm: view.pxPerMm,
    rows: apart?.length ?? Math.max(1, view.rows),
    ...(apart ? { rowStarts: apart } : {}),
    devicePixelRatio: window.devicePixelRatio,
    theme: colours(prefs.theme),
    textScale: textScale(prefs.largeText) * prefs.stripWords,
  };
}

/** Records what was really looked at, and says when that completes a segment. */
function watchLooking(workspace: ReviewWorkspace, app: ReturnType<typeof useApp>): () => void {
  const looking = new Looking({
    page() {
      const v = workspace.view.getState();
      if (!isReadable(v) || workspace.onScreen?.() === false) return null;
      const starts = rowsApart(v)?.map(r => r.startSeconds) ?? [v.startSeconds];
      return `${v.recordingId} ${starts.join()} ${v.mmPerSecond} ${v.rows} ${v.geometry.widthPx}`;
    },
    visible: () => document.visibilityState === 'visible',
    now: () => performance.now(),
    seen() {
      const completed = lookAtPage(workspace);
      if (completed !== null) app.ui.status(offeredWords(completed));
    },
  });
  const changed = () => looking.changed();
  const stops = [workspace.view.subscribe(changed), workspace.signals.subscribe(changed)];
  const detach = attachLooking(looking);
  return () => {
    for (const stop of stops) stop();
    detach();
  };
}

/** The selected beat in words, spoken on every step. */
function StripDescription({ modelOf }: { modelOf: typeof createStripModel }) {
  const workspace = useWorkspace();
  const app = useApp();
  usePart(workspace.review.store, s => s.replayed);
  usePart(workspace.suspicions, s => s.version);
  const caret = usePart(workspace.view, v => v.caret);
  usePart(workspace.view, v => v.recordingId);
  usePart(workspace.view, v => v.leads);
  // The amplitude is shown once the signal has been read.
  const [, read] = useReducer((n: number) => n + 1, 0);
  useEffect(() => {
    // What has arrived since this was first shown called no listener.
    read();
    return workspace.signals.subscribe(read);
  }, [workspace]);
  const model = useMemo(() => modelOf(workspace, app), [modelOf, workspace, app]);
  const recorder = model().recorders[0]!;
  return (
    <p className="visually-hidden" aria-live="polite" data-testid="beat-description">
      {describeBeat(recorder, caret)}
    </p>
  );
}
