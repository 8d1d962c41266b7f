import { decidedOf } from '../../commands/not-sinus';
import { subtract } from '../../core/marks/spans';
import { wholeSegment } from '../../core/recording/recording';
import { openKinds, type Proposals } from '../../state/review/proposals';
import { active, putCaret } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';
import './not-sinus.css';
import { WaveOverlay } from './wave-overlay';

/** Beats proposed as not sinus: how many are left, of which kinds, and whether the list was confirmed. */
export function NotSinusPanel() {
  const app = useApp();
  const workspace = useWorkspace();
  const proposals = workspace.proposals!;
  usePart(proposals, s => s.version);
  usePart(workspace.review.store, s => s.replayed);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const found = proposals.found(recordingId);
  return (
    <section className="not-sinus" aria-label="Beats that are not sinus" data-testid="not-sinus">
      <h2>Beats that are not sinus</h2>
      <p className="small" data-testid="not-sinus-state">
        {found ? <State proposals={proposals} /> : proposals.isLooking(recordingId) ? 'looking …' : <Marked />}
      </p>
      <p className="row small">
        <button type="button" onClick={() => app.runCommand('notSinus.next')}>
          {labelOf(proposals, recordingId)}
        </button>
        <KeyCap id="notSinus.next" />
      </p>
      {found && <Kinds proposals={proposals} />}
    </section>
  );
}

function labelOf(proposals: Proposals, recordingId: string): string {
  if (!proposals.found(recordingId)) return 'Look for them';
  if (proposals.isStale(recordingId)) return 'Look again: marks changed';
  return proposals.open(recordingId).length > 0 ? 'Next proposed beat' : 'Confirm the list';
}

/** Before anything was proposed. */
function Marked() {
  const workspace = useWorkspace();
  const { review, item } = active(workspace);
  const n = review.notSinus.length;
  const isConfirmed = subtract([wholeSegment(item.recording)], review.rhythmChecked).length === 0;
  const marked = `${n} ${n === 1 ? 'beat is' : 'beats are'} marked as not sinus.`;
  return (
    <>
      {marked}{' '}
      {isConfirmed ? 'The list is confirmed.' : 'HRV without them needs a confirmed list, or few odd intervals.'}
    </>
  );
}

function State({ proposals }: { proposals: Proposals }) {
  const workspace = useWorkspace();
  const { recordingId } = workspace.view.getState();
  const { beats } = proposals.found(recordingId)!;
  const { notSinus, aside } = decidedOf(workspace, beats);
  const left = proposals.open(recordingId).length;
  const { review, item } = active(workspace);
  const isConfirmed = subtract([wholeSegment(item.recording)], review.rhythmChecked).length === 0;
  return (
    <>
      {beats.length} proposed: {left} left, {notSinus} confirmed, {aside} set aside.{' '}
      {isConfirmed ? 'The list is confirmed.' : 'The list is not confirmed yet.'}
    </>
  );
}

function Kinds({ proposals }: { proposals: Proposals }) {
  const workspace = useWorkspace();
  const { recordingId } = workspace.view.getState();
  const found = proposals.found(recordingId)!;
  return (
    <ul className="kinds">
      {openKinds(proposals.open(recordingId), found.kinds).map(({ kind, beats }) => (
        <li key={kind.kind}>
          <button type="button" onClick={() => putCaret(workspace, beats[0]!.at)}>
            <WaveOverlay picture={kind} beside={found.sinus} height={56} />
            <span>
              {beats.length} left: {notSinusWords(kind.kind)}
            </span>
          </button>
        </li>
      ))}
    </ul>
  );
}

/** What the beats of a kind have in common. */
export function notSinusWords(kind: string): string {
  return kind.startsWith('shape ') ? 'another shape' : kind;
}
