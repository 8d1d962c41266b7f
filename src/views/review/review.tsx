import { useEffect } from 'react';
import { useApp, useDesk, usePart } from '../app-context';
import { Notices } from '../controls/notices';
import { DialogHost } from '../dialogs/host';
import { ReviewQueue } from '../review-queue/review-queue';
import { SegmentTable } from '../segment-table/segment-table';
import { Guide } from './guide';
import { KeysLine } from './keys-line';
import { OverviewView } from './overview-view';
import { ReviewHead } from './review-head';
import { StripView } from './strip-view';

/** The review screen: map above, strip in the middle, ledger beside, keys below. */
export function Review() {
  const desk = useDesk();
  const app = useApp();
  const recordingId = usePart(desk.view, v => v.recordingId);
  const both = usePart(desk.view, v => v.bothRecorders);
  const session = usePart(desk.review.store, s => s.session);
  useEffect(() => {
    app.shell.say('');
  }, [app]);
  const others = session.recordings.map(r => r.recording.id).filter(id => both && id !== recordingId);
  return (
    <main className={others.length > 0 ? 'desk two-recorders' : 'desk'}>
      <ReviewHead />
      <Notices />
      <div className="desk-map">
        <OverviewView />
      </div>
      <StripView />
      <aside className="desk-side" aria-label="Ledger and suspicious places">
        {desk.purpose === 'review' && <Guide />}
        <SegmentTable recordingId={recordingId} />
        {others.map(id => (
          <SegmentTable key={id} recordingId={id} />
        ))}
        {desk.purpose === 'review' && <ReviewQueue />}
      </aside>
      <KeysLine />
      <DialogHost />
    </main>
  );
}
