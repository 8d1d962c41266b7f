import { useState } from 'react';
import type { App } from '../../state/app';
import { entriesBeforeReminder, minutesBeforeReminder } from '../../state/backup/backup';
import type { FolderState } from '../../state/backup/folder';
import type { FoundCopy } from '../../state/backup/restoring';
import { errorMessage } from '../../state/error-message';
import { useApp, usePart } from '../app-context';
import { Sheet } from '../controls/dialog';
import { KeyCapLater } from '../controls/key-later';
import { TableHead } from '../controls/table-head';

const restoring = () => import('../../state/backup/restoring');

/** A folder outside the browser that reviews are copied to, and the way back from it. */
export function CopiesPanel({ onRestored }: { onRestored: () => void }) {
  const app = useApp();
  const folder = usePart(app.backupFolder.store, s => s);
  const [found, setFound] = useState<readonly FoundCopy[] | null>(null);
  if (folder.access === 'unsupported') {
    return (
      <p className="soft">
        This browser does not let a page write to a folder. Instead the page asks after {entriesBeforeReminder} entries
        or {minutesBeforeReminder} minutes without a copy; <KeyCapLater id="bundle.give" /> downloads the bundle at any
        time.
      </p>
    );
  }
  const reportingFailure = (work: Promise<unknown>) =>
    work.catch((error: unknown) => app.ui.notify(errorMessage(error)));
  return (
    <>
      <FolderWords folder={folder} />
      <div className="row">
        {folder.access === 'asks' && (
          <button type="button" className="chief" onClick={() => void reportingFailure(app.backupFolder.allow())}>
            Resume copying to {folder.name}
          </button>
        )}
        <button type="button" onClick={() => void reportingFailure(app.backupFolder.choose())}>
          {folder.access === 'none' ? 'Choose a folder for copies' : 'Choose another folder'}
        </button>
        <button
          type="button"
          onClick={() =>
            void reportingFailure(
              restoring()
                .then(r => r.lookIntoFolder(app))
                .then(setFound),
            )
          }
        >
          Restore from a folder
        </button>
        {folder.access !== 'none' && (
          <button type="button" className="quiet" onClick={() => void reportingFailure(app.backupFolder.forget())}>
            Stop copying
          </button>
        )}
      </div>
      {found && (
        <RestoreSheet
          found={found}
          onClose={() => setFound(null)}
          onRestore={chosen => void reportingFailure(restoreAll(app, chosen)).then(onRestored)}
        />
      )}
    </>
  );
}

function restoreAll(app: App, chosen: readonly FoundCopy[]): Promise<void> {
  const job = app.ui.startJob('Opening the copies');
  return restoring()
    .then(r => r.restore(app, chosen))
    .finally(() => job.end());
}

function FolderWords({ folder }: { folder: FolderState }) {
  if (folder.access === 'none') {
    return (
      <p className="soft">
        Every review can be copied as you work to a folder that you choose, in case the browser loses its data.
      </p>
    );
  }
  return (
    <>
      <p data-testid="backup-folder">
        {folder.access === 'open' ? 'Copies go to' : 'Copies need your permission to write to'} the folder{' '}
        <strong>{folder.name}</strong>.
      </p>
      <p className="soft small">
        In it: each session once with its recording as <code>session.zip</code>, and each review as{' '}
        <code>session-rater.jsonl</code>, updated a few seconds after each edit and at its end. A copy is only ever
        replaced by a later state of the same review.
      </p>
      {folder.problem && <p role="alert">{folder.problem}</p>}
    </>
  );
}

function RestoreSheet(props: {
  found: readonly FoundCopy[];
  onClose: () => void;
  onRestore: (chosen: readonly FoundCopy[]) => void;
}) {
  const { found, onClose, onRestore } = props;
  const usable = found.filter(c => c.problem === null);
  const [left, setLeft] = useState<ReadonlySet<FoundCopy>>(new Set());
  const chosen = usable.filter(c => !left.has(c));
  const turn = (copy: FoundCopy) => {
    const next = new Set(left);
    if (!next.delete(copy)) next.add(copy);
    setLeft(next);
  };
  return (
    <Sheet title="Restore from a folder" onClose={onClose} wide>
      <div className="sheet-body">
        {found.length === 0 && <p>There is no session and no review in this folder.</p>}
        {found.length > 0 && (
          <table data-testid="copies">
            <TableHead
              columns={['session', { left: 'in the folder' }, { left: 'in this browser' }, { left: 'file' }]}
            />
            <tbody>
              {found.map((copy, i) => (
                <CopyRow
                  key={copy.file.name}
                  copy={copy}
                  chosen={chosen.includes(copy)}
                  repeats={copy.session !== null && found[i - 1]?.session === copy.session}
                  onTurn={() => turn(copy)}
                />
              ))}
            </tbody>
          </table>
        )}
        <p className="soft small">Reviews that are already here are continued, never overwritten.</p>
        <div className="row end">
          <span className="soft">
            {chosen.length} of {found.length} files chosen
          </span>
          <button
            type="button"
            className="quiet"
            disabled={usable.length === 0}
            onClick={() => setLeft(new Set(chosen.length > 0 ? usable : []))}
          >
            {chosen.length > 0 ? 'Choose none' : 'Choose all'}
          </button>
          <button
            type="button"
            className="chief"
            data-focus
            disabled={chosen.length === 0}
            onClick={() => {
              onRestore(chosen);
              onClose();
            }}
          >
            Open the chosen ones
          </button>
        </div>
      </div>
    </Sheet>
  );
}

/** One file; the session's title stands at its first file, and is read aloud with each. */
function CopyRow(props: { copy: FoundCopy; chosen: boolean; repeats: boolean; onTurn: () => void }) {
  const { copy, chosen, repeats, onTurn } = props;
  return (
    <tr>
      <th scope="row" className="session-name">
        <span className={repeats ? 'visually-hidden' : ''}>{copy.title}</span>
      </th>
      <td className="left wrap">
        <label className="choice">
          <input type="checkbox" checked={chosen} disabled={copy.problem !== null} onChange={onTurn} />
          <span>{copy.problem ?? copy.holds}</span>
        </label>
      </td>
      <td className="left wrap soft">{copy.here}</td>
      <td className="left wrap soft small">{copy.file.name}</td>
    </tr>
  );
}
