import { clock } from '../../state/clocks/text';
import { currentQueue, putCaret } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';

const shownItems = 40;

/** Suspicious places, most suspicious first. A place leaves the list when it is corrected, kept or set aside. */
export function ReviewQueue() {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.suspicions, s => s.version);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const caret = usePart(workspace.view, v => v.caret);
  usePart(workspace.view, v => v.segmentOnly);
  const { items, part } = currentQueue(workspace, 'shown');
  const whyNone = workspace.suspicions.whyNone?.(recordingId) ?? null;
  const rateHz = workspace.review.get().session.recordings.find(r => r.recording.id === recordingId)!
    .recording.samplingRateHz;
  return (
    <section aria-label="Suspicious places" data-testid="queue">
      <h2>
        Suspicious places{' '}
        <span className="soft">
          {workspace.suspicions.ready(recordingId) ? items.length : whyNone === null ? 'looking …' : ''}
          {part !== null && ` in ${part}`}
        </span>
      </h2>
      <p className="row small">
        <button type="button" onClick={() => app.runCommand('suspicion.segment')}>
          {part === null ? 'This segment only' : 'All segments'}
        </button>
        <KeyCap id="suspicion.segment" />
      </p>
      {whyNone !== null && <p className="soft small">None can be named: {whyNone}.</p>}
      <ol className="queue">
        {items.slice(0, shownItems).map(item => (
          <li key={`${item.reason} ${item.at}`}>
            <button
              type="button"
              className={item.at === caret ? 'queue-item current' : 'queue-item'}
              aria-current={item.at === caret}
              onClick={() => putCaret(workspace, item.at)}
            >
              <span className="soft">{clock(item.at / rateHz, 1)}</span> {item.sentence}
            </button>
          </li>
        ))}
      </ol>
      {items.length > shownItems && <p className="soft small">and {items.length - shownItems} less suspicious ones</p>}
    </section>
  );
}
