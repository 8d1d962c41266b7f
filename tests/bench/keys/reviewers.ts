import type { Segment } from '../../../src/core/recording/recording';
import { coverageOf, segmentsUnderReview } from '../../../src/core/review/standing/coverage';
import type { Span } from '../../../src/core/units';
import { active, pageSpan } from '../../../src/state/review/workspace';
import { pageSeconds } from '../../../src/state/stores/view-store';
import { begin, type Hands, left, markSpan, press, putRight, type Tally } from './hands';
import { openRig, type Rig } from './rig';
import { type MistakeKind, truthOf } from './truth';

/** How a reviewer works through a segment. */
export interface WayOfWorking {
  readonly name: string;
  readonly steps: readonly string[];
  readonly work: (hands: Hands, segment: Segment) => void;
}

export interface SegmentKeys {
  readonly segment: string;
  readonly pages: number;
  readonly mistakes: Record<MistakeKind, number>;
  /** Pages + mistakes + 2 for each unreadable span. */
  readonly bound: number;
  readonly keys: Readonly<Record<string, number>>;
  readonly total: number;
  /** Mistakes that this way of working left. */
  readonly left: number;
  readonly covered: boolean;
}

const byArrow = ['mark.next', 'mark.previous', 'caret.right', 'caret.left'];

/** Page after page: the arrows to each mistake, a correction, and the page accepted. */
const byPage: WayOfWorking = { name: 'by page', steps: byArrow, work: (hands, segment) => turnPages(hands, segment) };

/** First the ranked tour of the segment, until nothing it can lead to is wrong; then page after page. */
const byQueue: WayOfWorking = {
  name: 'by queue, then pages',
  steps: byArrow,
  work(hands, segment) {
    const { rig } = hands;
    rig.workspace.view.setState({ segmentOnly: true });
    const near = () => {
      const { caret } = rig.workspace.view.getState();
      return left(hands, segment.start, segment.end).find(m => Math.abs((m.mark ?? m.at) - caret) < 2 * hands.hz);
    };
    for (let stops = 0; stops < 500 && reachable(hands, segment); stops++) {
      if (!press(hands, 'suspicion.next', 'to a place')) break;
      for (let m = near(), tries = 0; m && tries < 4; m = near(), tries++) {
        if (!(m.kind === 'unreadable' ? markSpan(hands, m) : putRight(hands, m, 6))) break;
      }
    }
    begin(hands, segment);
    turnPages(hands, segment);
  },
};

/** Whether an item of the queue still stands at a mistake of the segment. */
function reachable(hands: Hands, segment: Span): boolean {
  const wrong = left(hands, segment.start, segment.end);
  const items = hands.rig.queue();
  return wrong.some(m => items.some(i => Math.abs(i.at - (m.mark ?? m.at)) < hands.hz * 0.3));
}

/** Page after page by the page's places: J to what is wrong, T or a correction, and Enter when nothing more is. */
const byPlaces: WayOfWorking = {
  name: 'by places of the page',
  steps: ['place.next', ...byArrow, 'mark.fiveOn', 'mark.fiveBack', 'row.down', 'row.up'],
  work: (hands, segment) => turnPages(hands, segment),
};

export const ways: readonly WayOfWorking[] = [byPage, byQueue, byPlaces];

function turnPages(hands: Hands, segment: Span): void {
  for (let turn = 0; turn < 60; turn++) {
    const before = pageSpan(hands.rig.workspace);
    correctPage(hands, segment);
    const page = pageSpan(hands.rig.workspace);
    // A span that goes on over the page's end turned it.
    if (page.start !== before.start) continue;
    press(hands, 'page.accept', 'pages');
    if (page.end >= segment.end || pageSpan(hands.rig.workspace).start <= page.start) return;
  }
}

/** A mistake at the page's edge may be put right on the next page, which keeps one beat of overlap. */
function correctPage(hands: Hands, segment: Span): void {
  const page = pageSpan(hands.rig.workspace);
  const margin = hands.hz * 0.25;
  const last = Math.min(segment.end, page.end >= segment.end ? page.end : page.end - margin);
  const tried = new Set<string>();
  const next = () => left(hands, Math.max(page.start, segment.start), last).find(m => !tried.has(`${m.kind} ${m.at}`));
  // Looked at again after each correction: a beat inserted beside a wrong mark leaves that mark as an extra one.
  for (let m = next(); m; m = next()) {
    tried.add(`${m.kind} ${m.at}`);
    if (m.kind === 'unreadable') markSpan(hands, m);
    else putRight(hands, m);
  }
}

/** One recorder of one volunteer, every segment by one way of working. */
export async function keysOf(volunteer: string, recordingId: string, way: WayOfWorking): Promise<SegmentKeys[]> {
  const rig = await openRig(volunteer, recordingId);
  const truth = truthOf(volunteer, recordingId, active(rig.workspace).item.recording.gaps);
  return segmentsUnderReview(active(rig.workspace).item).map(segment => workThrough(rig, truth, segment, way));
}

function workThrough(rig: Rig, truth: ReturnType<typeof truthOf>, segment: Segment, way: WayOfWorking): SegmentKeys {
  const { item, rateHz } = active(rig.workspace);
  const tally: Tally = { keys: {}, total: 0 };
  const hands: Hands = { rig, truth, hz: rateHz, tally, steps: way.steps };
  const wrong = left(hands, segment.start, segment.end);
  const mistakes = { missed: 0, 'wrong peak': 0, extra: 0, unreadable: 0 };
  for (const m of wrong) mistakes[m.kind]++;
  const view = rig.workspace.view.getState();
  const pages = Math.ceil((segment.end - segment.start) / rateHz / pageSeconds(view, view.geometry));
  begin(hands, segment);
  way.work(hands, segment);
  return {
    segment: segment.name,
    pages,
    mistakes,
    bound: pages + wrong.length + mistakes.unreadable,
    keys: tally.keys,
    total: tally.total,
    left: left(hands, segment.start, segment.end).length,
    covered: coverageOf(item, rig.review(), segment).covered,
  };
}
