import { useState } from 'react';
import { noteHere, remark } from '../../commands/edits';
import { editing, perform } from '../../commands/perform';
import { editNote, removeNote } from '../../core/review/edits';
import { clock } from '../../state/clocks/text';
import { active } from '../../state/review/workspace';
import { useApp, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { RefusedSheet, refusalOf } from '../controls/refused';

/** A comment or a clinical flag at the caret; one that is there already can be changed or taken away. */
export function RemarkDialog({ kind }: { kind: 'comment' | 'flag' }) {
  const app = useApp();
  const workspace = useWorkspace();
  const now = active(workspace);
  const near = now.review.notes.find(n => n.kind === kind && Math.abs(n.start - now.caret) <= now.rateHz * 0.2);
  const [text, setText] = useState(near?.text ?? '');
  const [problem, setProblem] = useState('');
  const close = () => app.ui.openDialog(null);
  const title = `${kind === 'flag' ? 'Flag' : 'Comment'} at ${clock(now.caret / now.rateHz, 2)}`;
  const why = refusalOf(workspace, near ? removeNote(editing(workspace), near.id) : noteHere(workspace, kind, kind));
  if (why !== null) {
    return (
      <RefusedSheet title={title} why={why} onClose={close}>
        {near && <p>{near.text}</p>}
      </RefusedSheet>
    );
  }
  const keep = () => {
    const done = near
      ? perform(workspace, app, kind, editNote(editing(workspace), near.id, text), 'Changed.')
      : remark(workspace, app, kind, text);
    const { said } = app.ui.getState();
    // What was typed stays until it is saved; nothing is said where there is nothing to change.
    if (done || said === '') close();
    else setProblem(said);
  };
  const remove = () => {
    if (near) perform(workspace, app, kind, removeNote(editing(workspace), near.id), 'Deleted.');
    close();
  };
  return (
    <Sheet title={title} onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          keep();
        }}
      >
        {kind === 'flag' && (
          <p className="caution">
            A flag marks this place for the study’s own procedure for incidental findings. Whoever handles it refers to
            qualified clinical staff under local rules. This program says nothing about what the place may mean.
          </p>
        )}
        <label className="field">
          <span>{kind === 'flag' ? 'note (may be empty)' : 'comment'}</span>
          <textarea data-focus rows={3} value={text} onChange={e => setText(e.target.value)} />
        </label>
        {problem && (
          <p className="needs" role="alert">
            {problem}
          </p>
        )}
        <div className="row end">
          {near && (
            <button type="button" onClick={remove}>
              Delete
            </button>
          )}
          <button type="submit" className="chief">
            Save
          </button>
        </div>
      </form>
    </Sheet>
  );
}
