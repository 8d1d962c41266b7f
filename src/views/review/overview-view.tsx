import { useEffect, useRef } from 'react';
import { scrollTo } from '../../commands/display';
import { active, clampStart, type Desk, putCaret } from '../../state/review/workspace';
import { pageSeconds } from '../../state/stores/view-store';
import { useApp, useDesk } from '../app-context';
import { colours, textScale, watchColours } from '../controls/look';
import { Overview } from '../overview/overview';
import { attachOverviewDrag } from '../overview/overview-drag';
import type { OverviewModel } from '../overview/paint-overview';
import { createStripModel } from './strip-model';

/** The map of the whole recording above the strip. */
export function OverviewView() {
  const desk = useDesk();
  const app = useApp();
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const overview = new Overview(host.current!);
    const model = createOverviewModel(desk, createStripModel(desk, app));
    const show = () => {
      const prefs = app.prefs.getState();
      overview.setLook(colours(prefs.theme), textScale(prefs.largeText));
      overview.setModel(model());
      const view = desk.view.getState();
      const endSec = view.startSec + pageSeconds(view, view.geometry);
      overview.setWindow({ startSec: view.startSec, endSec, caretSec: view.caret / active(desk).rateHz });
    };
    const stops = [
      desk.view.subscribe(show),
      desk.review.subscribe(show),
      desk.suspicions.subscribe(show),
      app.prefs.subscribe(show),
      watchColours(show),
      attachOverviewDrag(host.current!, overview, {
        centreSec: () => desk.view.getState().startSec + half(desk),
        go: (centreSec, grabbed) => {
          if (grabbed) return scrollTo(desk, centreSec - half(desk));
          desk.view.setState({ startSec: clampStart(desk, centreSec - half(desk)) });
          putCaret(desk, centreSec * active(desk).rateHz, true);
        },
        drawn: (startSec, endSec) => {
          desk.view.setState({ segmentDraft: { startSec, endSec } });
          app.shell.openDialog('segments');
        },
      }),
    ];
    show();
    return () => {
      for (const stop of stops) stop();
      overview.destroy();
    };
  }, [desk, app]);
  return <div className="map-host" ref={host} aria-hidden="true" />;
}

function half(desk: Desk): number {
  const view = desk.view.getState();
  return pageSeconds(view, view.geometry) / 2;
}

/** The same object as long as nothing the map shows has changed, so that stepping and panning repaint only the frame. */
function createOverviewModel(desk: Desk, strip: ReturnType<typeof createStripModel>): () => OverviewModel {
  let known: { key: readonly unknown[]; model: OverviewModel } | null = null;
  return () => {
    const { item, review } = active(desk);
    const key = [item, review, desk.suspicions.getState().version];
    if (known?.key.every((k, i) => k === key[i])) return known.model;
    const model: OverviewModel = {
      recorder: strip().recorders[0]!,
      seen: review.seen,
      signedOff: new Set(review.signOffs.map(s => s.segment)),
      suspicions: desk.suspicions.items(item.recording.id).map(i => i.at),
    };
    known = { key, model };
    return model;
  };
}
