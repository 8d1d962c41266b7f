import { useEffect } from 'react';
import { usePart, useWorkspace } from '../app-context';
import { NoticeList } from '../controls/notices';
import { DialogHost } from '../dialogs/host';
import { NotSinusPanel } from '../not-sinus/not-sinus-panel';
import { ReviewQueue } from '../review-queue/review-queue';
import { SamplePanel } from '../sample/sample-panel';
import { SegmentTable } from '../segment-table/segment-table';
import { Guide } from './guide';
import { KeysLine } from './keys-line';
import { OverviewView } from './overview-view';
import { ReviewHead } from './review-head';
import { ReviewStrip } from './strip-view';

/** The review screen: map above, strip in the middle, ledger beside, keys below. */
export function Review() {
  const workspace = useWorkspace();
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const both = usePart(workspace.view, v => v.bothRecorders);
  const session = usePart(workspace.review.store, s => s.session);
  useEffect(() => {
    // Help must be there for whoever works on when the page is renewed under this tab.
    void import('../help/help-sheets').catch(() => undefined);
  }, []);
  const others = session.recordings.map(r => r.recording.id).filter(id => both && id !== recordingId);
  return (
    <main className={others.length > 0 ? 'workspace two-recorders' : 'workspace'}>
      <ReviewHead />
      <NoticeList />
      <div className="workspace-map">
        <OverviewView />
      </div>
      <ReviewStrip />
      <aside className="workspace-side" aria-label="Ledger and suspicious places">
        {workspace.purpose === 'review' && <Guide />}
        <SegmentTable recordingId={recordingId} />
        {others.map(id => (
          <SegmentTable key={id} recordingId={id} />
        ))}
        {workspace.purpose === 'review' && <SamplePanel />}
        {workspace.purpose === 'review' && <ReviewQueue />}
        {workspace.proposals && <NotSinusPanel />}
      </aside>
      <KeysLine />
      <DialogHost />
    </main>
  );
}
