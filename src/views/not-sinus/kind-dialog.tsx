import { decideKind } from '../../commands/not-sinus';
import { clock } from '../../state/clocks/text';
import { active } from '../../state/review/workspace';
import { useApp, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import './not-sinus.css';
import { notSinusWords } from './not-sinus-panel';
import { WaveOverlay } from './wave-overlay';

const shownPlaces = 12;

/** All proposed beats of one kind over each other: they are decided together only after they were seen so. */
export function NotSinusKindDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const close = () => app.ui.openDialog(null);
  const { caret, item, rateHz } = active(workspace);
  const found = workspace.proposals?.found(item.recording.id);
  const open = workspace.proposals?.open(item.recording.id) ?? [];
  const here = open.find(b => b.at === caret);
  const kind = found?.kinds.find(k => k.kind === here?.kind);
  if (!found || !here || !kind) return null;
  const beats = open.filter(b => b.kind === here.kind);
  const places = beats.map(b => b.at);
  const decide = (decision: 'not sinus' | 'set aside') => {
    decideKind(workspace, app, places, decision);
    close();
  };
  const n = `${beats.length} ${beats.length === 1 ? 'beat' : 'beats'}`;
  const rest = beats.length > shownPlaces ? ` and ${beats.length - shownPlaces} more` : '';
  return (
    <Sheet title={`${n} of one kind: ${notSinusWords(here.kind)}`} onClose={close}>
      <div className="sheet-body not-sinus-kind">
        <WaveOverlay picture={kind} beside={found.sinus} height={180} />
        <p className="soft small">
          {kind.waves.length} beats of this kind over each other; paler, sinus beats of the same recording.
        </p>
        <p className="small">
          At{' '}
          {beats
            .slice(0, shownPlaces)
            .map(b => clock(b.at / rateHz, 1))
            .join(', ')}
          {rest}.
        </p>
        <p className="row">
          <button type="button" className="primary" onClick={() => decide('not sinus')}>
            Mark {n} as not sinus
          </button>
          <button type="button" onClick={() => decide('set aside')}>
            Set {n} aside as sinus
          </button>
          <button type="button" onClick={close}>
            Cancel
          </button>
        </p>
      </div>
    </Sheet>
  );
}
