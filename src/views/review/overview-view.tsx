import { useEffect, useRef } from 'react';
import { scrollTo } from '../../commands/display';
import type { Replayed } from '../../core/marks/log';
import { worthALook } from '../../core/review/places/groups';
import type { SessionRecording } from '../../core/review/session';
import { ownReviewedScore } from '../../state/review/scores';
import { active, clampStart, pageSpans, putCaret, type ReviewWorkspace } from '../../state/review/workspace';
import { pageSeconds } from '../../state/stores/view-store';
import { useApp, useWorkspace } from '../app-context';
import { colours, textScale, watchColours } from '../controls/look';
import { Overview } from '../overview/overview';
import { attachOverviewDrag } from '../overview/overview-drag';
import type { OverviewModel } from '../overview/paint-overview';
import { AfterReact } from '../strip-chart/frame';
import { createStripModel } from './strip-model';

/** The map of the whole recording above the strip. */
export function OverviewView() {
  const workspace = useWorkspace();
  const app = useApp();
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const overview = new Overview(host.current!);
    const model = createOverviewModel(workspace, createStripModel(workspace, app));
    const show = () => {
      const prefs = app.prefs.getState();
      overview.setLook(colours(prefs.theme), textScale(prefs.largeText));
      overview.setModel(model());
      const view = workspace.view.getState();
      const { rateHz } = active(workspace);
      const shown = pageSpans(workspace).map(s => ({ startSeconds: s.start / rateHz, endSeconds: s.end / rateHz }));
      overview.setWindow({ shown, caretSeconds: view.caret / rateHz });
    };
    const later = new AfterReact(show);
    const stops = [
      later.stop,
      workspace.view.subscribe(later.ask),
      workspace.review.subscribe(later.ask),
      workspace.suspicions.subscribe(later.ask),
      app.prefs.subscribe(show),
      watchColours(show),
      attachOverviewDrag(host.current!, overview, {
        centreSeconds: () => workspace.view.getState().startSeconds + half(workspace),
        go: (centreSeconds, grabbed) => {
          if (grabbed) return scrollTo(workspace, centreSeconds - half(workspace));
          workspace.view.setState({ startSeconds: clampStart(workspace, centreSeconds - half(workspace)) });
          putCaret(workspace, centreSeconds * active(workspace).rateHz, true);
        },
        drawn: (startSeconds, endSeconds) => {
          workspace.view.setState({ segmentDraft: { startSeconds, endSeconds } });
          app.ui.openDialog('segments');
        },
      }),
    ];
    show();
    return () => {
      for (const stop of stops) stop();
      overview.destroy();
    };
  }, [workspace, app]);
  return <div className="map-host" ref={host} aria-hidden="true" />;
}

function half(workspace: ReviewWorkspace): number {
  const view = workspace.view.getState();
  return pageSeconds(view, view.geometry) / 2;
}

/** The same object as long as nothing the map shows has changed, so that stepping and panning repaint only the frame. */
function createOverviewModel(
  workspace: ReviewWorkspace,
  strip: ReturnType<typeof createStripModel>,
): () => OverviewModel {
  let known: { key: readonly unknown[]; model: OverviewModel } | null = null;
  return () => {
    const { item, review } = active(workspace);
    const { replayed } = workspace.review.get();
    const key = [item, review, replayed.finished, workspace.suspicions.getState().version];
    if (known?.key.every((k, i) => k === key[i])) return known.model;
    const model: OverviewModel = {
      recorder: strip().recorders[0]!,
      seen: review.seen,
      sampled: review.sampled.filter(e => e.outcome === 'reviewed'),
      standings: standingsOf(workspace, item, replayed),
      signedOff: new Set(review.signOffs.map(s => s.segment)),
      suspicions: workspace.suspicions.items(item.recording.id).flatMap(i => (i.score >= worthALook ? [i.at] : [])),
    };
    known = { key, model };
    return model;
  };
}

/** As in the ledger, which has worked them out; a lesson and a settlement have no ledger of one's own. */
function standingsOf(
  workspace: ReviewWorkspace,
  item: SessionRecording,
  replayed: Replayed,
): OverviewModel['standings'] {
  if (workspace.purpose !== 'review') return new Map();
  const { segments } = ownReviewedScore(workspace.scoreOf(item.recording.id), item, replayed);
  return new Map(segments.map(s => [s.segment.name, s.standing] as const));
}
