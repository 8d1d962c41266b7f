import { expect, test } from 'vitest';
import { restrictQueue } from '../../../../src/commands/navigate';
import { newLog } from '../../../../src/core/marks/log';
import type { QueueItem } from '../../../../src/core/review/places/queue';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { span } from '../../../../src/core/units';
import type { App } from '../../../../src/state/app';
import { createReviewStore } from '../../../../src/state/review/review-store';
import { noSuspicions } from '../../../../src/state/review/suspicions';
import { currentQueue, type ReviewWorkspace } from '../../../../src/state/review/workspace';
import { createViewStore } from '../../../../src/state/stores/view-store';
import { session as whole } from '../../../browser/two-raters';

const [band] = whole.recordings;
const session: Session = {
  ...whole,
  recordings: [
    {
      ...band!,
      segments: [
        { name: 'rest', ...span(1000, 2000) },
        { name: 'uphill run', ...span(2000, 3000) },
      ],
    },
  ],
};
const items = [1999, 500, 2000, 1000, 3000].map(at => ({ at, score: 0.5 }) as QueueItem);

test('keeps to the segment of the caret, or to what is in none, while the rater wants that', () => {
  const log = newLog(logHeader(session, 'R1'));
  const access = { writable: true, why: null };
  const review = createReviewStore(
    { session, log, others: [], access },
    async () => undefined,
    () => new Date(0),
  );
  const view = createViewStore();
  view.setState({ recordingId: 'band', caret: 1500 as never });
  const suspicions = { ...noSuspicions(true), items: () => items, itemsNow: () => items };
  const workspace = { review, view, suspicions, purpose: 'review' } as unknown as ReviewWorkspace;
  const said: string[] = [];
  const app = { ui: { status: (text: string) => said.push(text) } } as unknown as App;
  const hand = (caret: number) => {
    view.setState({ caret: caret as never });
    const { items: left, part } = currentQueue(workspace, 'now');
    return [part, ...left.map(i => i.at)];
  };
  expect(hand(1500)).toEqual([null, 1999, 500, 2000, 1000, 3000]);
  restrictQueue(workspace, app);
  expect(hand(1000)).toEqual(['rest', 1999, 1000]);
  expect(hand(1999)).toEqual(['rest', 1999, 1000]);
  expect(hand(2000)).toEqual(['uphill run', 2000]);
  expect(hand(999)).toEqual(['the time outside all segments', 500, 3000]);
  restrictQueue(workspace, app);
  expect(hand(999)).toHaveLength(6);
  expect(said).toEqual(['2 suspicious places in rest.', '5 suspicious places in the whole recording.']);
});
