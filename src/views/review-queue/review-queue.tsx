import { placeWords } from '../../core/review/places/place-words';
import { clock } from '../../state/clocks/text';
import { currentQueue, type Outlook, outlook, putCaret } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';

const shownItems = 40;

/**
 * Places worth a look, those with most to find first; below a line what is hardly ever a mistake. A place leaves the list
 * when it is corrected, kept or set aside.
 */
export function ReviewQueue() {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.suspicions, s => s.version);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  usePart(workspace.view, v => v.caret);
  usePart(workspace.view, v => v.segmentOnly);
  usePart(workspace.review.store, s => s.replayed);
  const { items, below, part } = currentQueue(workspace, 'shown');
  const whyNone = workspace.suspicions.whyNone?.(recordingId) ?? null;
  const ready = workspace.suspicions.ready(recordingId);
  const left = ready ? outlook(workspace) : null;
  return (
    <section aria-label="Suspicious places" className="queue-section" data-testid="queue">
      <h2>
        Suspicious places{' '}
        <span className="soft">
          {ready ? items.length : whyNone === null ? 'looking …' : ''}
          {part !== null && ` in ${part}`}
        </span>
      </h2>
      {left && <WhatIsLeft {...left} />}
      <p className="row small">
        <button type="button" onClick={() => app.runCommand('suspicion.segment')}>
          {part === null ? 'This segment only' : 'All segments'}
        </button>
        <KeyCap id="suspicion.segment" />
      </p>
      {whyNone !== null && <p className="soft small">None can be named: {whyNone}.</p>}
      <Places items={items} />
      {below.length > 0 && (
        <details className="below-line">
          <summary className="small">
            {below.length} less likely {below.length === 1 ? 'place' : 'places'}
          </summary>
          <p className="soft small">Fewer than one in ten of these is a mistake: page by page finds more.</p>
          <Places items={below} />
        </details>
      )}
    </section>
  );
}

function WhatIsLeft({ expected, low, high, part, hidden }: Outlook) {
  const mistakes = Math.round(expected);
  const about =
    mistakes === 0 ? 'Probably no mistake left' : `About ${mistakes} ${mistakes === 1 ? 'mistake' : 'mistakes'} left`;
  const stretches = hidden === 1 ? '1 stretch' : `${hidden} stretches`;
  return (
    <p
      className="small"
      data-testid="mistakes-left"
      title="By what was not looked at yet. Recordings differ: the range holds about nine times in ten, and narrows as you go through pages."
    >
      {about} in {part} ({low} to {high}){hidden > 0 && `, and ${stretches} that may be unreadable`}
    </p>
  );
}

function Places({ items }: Pick<ReturnType<typeof currentQueue>, 'items'>) {
  const workspace = useWorkspace();
  const { recordingId, caret } = workspace.view.getState();
  const rateHz = workspace.review.get().session.recordings.find(r => r.recording.id === recordingId)!
    .recording.samplingRateHz;
  return (
    <>
      <ol className="queue">
        {items.slice(0, shownItems).map(item => (
          <li key={item.id}>
            <button
              type="button"
              className={item.at === caret ? 'queue-item current' : 'queue-item'}
              aria-current={item.at === caret}
              onClick={() => putCaret(workspace, item.at)}
            >
              <span className="soft">{clock(item.at / rateHz, 1)}</span> {placeWords(item)}
            </button>
          </li>
        ))}
      </ol>
      {items.length > shownItems && <p className="soft small">and {items.length - shownItems} more</p>}
    </>
  );
}
