import { clock } from '../../state/clocks/text';
import { putCaret, queueInHand } from '../../state/review/workspace';
import { useApp, useDesk, usePart } from '../app-context';
import { Key } from '../controls/key';

const shownItems = 40;

/** Suspicious places, most suspicious first. A place leaves the list when it is corrected, kept or set aside. */
export function ReviewQueue() {
  const app = useApp();
  const desk = useDesk();
  usePart(desk.suspicions, s => s.version);
  const recordingId = usePart(desk.view, v => v.recordingId);
  const caret = usePart(desk.view, v => v.caret);
  usePart(desk.view, v => v.segmentOnly);
  const { items, part } = queueInHand(desk, 'shown');
  const whyNone = desk.suspicions.whyNone?.(recordingId) ?? null;
  const rateHz = desk.review.get().session.recordings.find(r => r.recording.id === recordingId)!
    .recording.samplingRateHz;
  return (
    <section aria-label="Suspicious places" data-testid="queue">
      <h2>
        Suspicious places{' '}
        <span className="soft">
          {desk.suspicions.ready(recordingId) ? items.length : whyNone === null ? 'looking …' : ''}
          {part !== null && ` in ${part}`}
        </span>
      </h2>
      <p className="row small">
        <button type="button" onClick={() => app.runCommand('suspicion.segment')}>
          {part === null ? 'This segment only' : 'All segments'}
        </button>
        <Key id="suspicion.segment" />
      </p>
      {whyNone !== null && <p className="soft small">None can be named: {whyNone}.</p>}
      <ol className="queue">
        {items.slice(0, shownItems).map(item => (
          <li key={`${item.reason} ${item.at}`}>
            <button
              type="button"
              className={item.at === caret ? 'queue-item current' : 'queue-item'}
              aria-current={item.at === caret}
              onClick={() => putCaret(desk, item.at)}
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
