import type { Command } from '../../commands/command';
import { keyLabel } from '../../commands/key-press';
import { keysInForce, keysOf } from '../../commands/keymap';
import { commandsOf } from '../../commands/scenes';
import { sampledOf } from '../../state/review/sampling';
import { active, type ReviewWorkspace } from '../../state/review/workspace';
import { isReadable } from '../../state/stores/view-store';
import { useApp, usePart, useWorkspace } from '../app-context';

/**
 * What was just done, and below it what the keys do right now: that line changes with what is under the caret. Each
 * entry is a button as well. Both lines always have their place, so that the strip above never moves.
 */
export function KeysLine({ idsOf = reviewIds }: { idsOf?: (workspace: ReviewWorkspace) => readonly string[] }) {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  usePart(workspace.review.store, s => s.access);
  usePart(workspace.suspicions, s => s.version);
  usePart(workspace.view, v => v.caret);
  usePart(workspace.view, v => v.spanStart);
  usePart(workspace.view, v => v.signOffOffer);
  usePart(workspace.view, v => v.sampling === null);
  usePart(workspace.view, isReadable);
  const changes = usePart(app.prefs, keysInForce);
  const caps = usePart(app.keyCaps, k => k.caps);
  const said = usePart(app.ui, s => s.said);
  const here = commandsOf(app);
  const commands = idsOf(workspace)
    .flatMap(id => here.find(c => c.id === id) ?? [])
    .filter(c => c.scene === 'anywhere' || (c.offered ?? c.when)?.(workspace, app) !== false);
  const button = (c: Command) => (
    <button type="button" key={c.id} onClick={() => app.runCommand(c.id)} title={c.why} tabIndex={-1}>
      <kbd>{keyLabel(keysOf(c, changes)[0] ?? '–', caps)}</kbd> {wordsFor(c, workspace)}
    </button>
  );
  return (
    <footer className="workspace-keys">
      <div className="keys-row">
        <span className="said" role="status" data-testid="said">
          {said}
        </span>
        {commands.filter(c => c.id === 'help.open').map(button)}
      </div>
      <fieldset className="keys-row keys-now" aria-label="What the keys do now">
        {commands.filter(c => c.id !== 'help.open').map(button)}
      </fieldset>
    </footer>
  );
}

function wordsFor(command: Command, workspace: ReviewWorkspace): string {
  const { signOffOffer } = workspace.view.getState();
  if (command.id === 'segment.signOff' && signOffOffer) return `sign off ${signOffOffer.segment}`;
  return short[command.id] ?? command.title;
}

const short: Record<string, string> = {
  'page.accept': 'accept page',
  'mark.keep': 'keep',
  'mark.remove': 'remove',
  'mark.insert': 'insert',
  'mark.snap': 'snap to apex',
  'mark.left': 'left',
  'mark.right': 'right',
  'span.unreadable': 'unreadable',
  'place.next': 'next place, then next page',
  'suspicion.next': 'next suspicious',
  'suspicion.take': 'take suggestion',
  'suspicion.dismiss': 'set aside',
  'unseen.next': 'not looked at',
  'help.open': 'all keys',
  'page.next': 'next page',
  'page.previous': 'page before',
  'mark.previous': 'mark before',
  'segment.reopen': 'reopen',
  'sample.next': 'go on with the sample',
  'difference.open': 'next to settle',
  'settle.placed': 'as placed',
  'settle.reason': 'with a reason',
  'spot.next': 'spot check',
  'spot.checked': 'stretch checked, correct',
  'guidance.open': 'protocol',
  'practice.hint': 'hint',
  'practice.done': 'done',
  'practice.next': 'next place',
  'practice.previous': 'place before',
};

/** What is left where nothing can be changed: to look. */
const lookingIds = [
  'mark.next',
  'mark.previous',
  'page.next',
  'page.previous',
  'suspicion.next',
  'zoom.in',
  'zoom.out',
  'guidance.open',
  'help.open',
];

/** Whether a sample that was begun is not on the page, as after a reload: Enter would accept what was not drawn. */
function sampleWaits(workspace: ReviewWorkspace): boolean {
  const { recordingId, sampling } = workspace.view.getState();
  if (sampling !== null || active(workspace).review.samplePlans.length === 0) return false;
  return sampledOf(workspace, recordingId).some(({ whole }) => !whole.exact && !whole.reached);
}

export function reviewIds(workspace: ReviewWorkspace): string[] {
  const { access, replayed } = workspace.review.get();
  if (!access.writable) return lookingIds;
  if (replayed.finished) return ['segment.reopen', ...lookingIds];
  if (workspace.view.getState().spanStart !== null) {
    return ['span.unreadable', 'caret.right', 'caret.left', 'mark.next', 'page.next', 'cancel'];
  }
  const { recordingId, signOffOffer } = workspace.view.getState();
  return [
    ...(signOffOffer?.recordingId === recordingId ? ['segment.signOff'] : []),
    ...(sampleWaits(workspace) ? ['sample.next'] : []),
    ...(isReadable(workspace.view.getState()) ? ['place.next', 'page.accept'] : ['zoom.in']),
    'suspicion.take',
    'suspicion.dismiss',
    'mark.keep',
    'mark.remove',
    'mark.insert',
    'span.unreadable',
    'edit.undo',
    'mark.snap',
    'mark.left',
    'mark.right',
    'suspicion.next',
    'unseen.next',
    'help.open',
  ];
}
