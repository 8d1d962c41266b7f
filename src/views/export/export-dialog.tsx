import { type ReactNode, useState } from 'react';
import { appName, appVersion } from '../../core/report/version';
import { keepAll } from '../../core/review/privacy/identifying';
import { noteCopied } from '../../state/backup/copied';
import { errorMessage } from '../../state/error-message';
import {
  download,
  type ExportFile,
  exportAudit,
  exportBundle,
  exportEdf,
  exportIntervals,
  exportMarks,
  exportResults,
  exportSources,
} from '../../state/export/exporting';
import { lockedFile, passphraseProblem } from '../../state/export/locking';
import { active } from '../../state/review/workspace';
import { useApp, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { type SharingChoice, SharingFields } from './send-review';

const everyone = '*';

/** What can be handed on, each with what it is for. */
export function ExportDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const [busy, setBusy] = useState('');
  const [said, setSaid] = useState('');
  const [sharing, setHandingOn] = useState<SharingChoice>({ handling: keepAll, passphrase: '', again: '' });
  const { item } = active(workspace);
  const { recorder } = item.recording;
  const sources = exportSources(workspace);
  const [source, setSource] = useState(sources[0]?.rater ?? '');
  const from = source === everyone ? sources.map(s => s.rater) : [source];
  const give = (name: string, make: () => ExportFile[] | Promise<ExportFile[]>) => async () => {
    setBusy(name);
    setSaid('');
    try {
      await workspace.review.settled();
      const files = await make();
      download(files);
      setSaid(`Downloaded: ${files.map(f => f.name).join(', ')}`);
    } catch (error) {
      setSaid(errorMessage(error));
    }
    setBusy('');
  };
  const { handling } = sharing;
  const bundles = async (audience: 'as I see it' | 'blind rater') => {
    const lock = lockOf(sharing);
    return Promise.all((await exportBundle(workspace, audience, handling)).map(lock));
  };
  const line = (name: string, about: ReactNode, make: () => ExportFile[] | Promise<ExportFile[]>) => (
    <tr key={name}>
      <td className="left">
        <button type="button" disabled={busy !== ''} onClick={give(name, make)}>
          {busy === name ? 'Writing …' : name}
        </button>
      </td>
      <td className="left wrap">{about}</td>
    </tr>
  );
  return (
    <Sheet title="Export" onClose={() => app.ui.openDialog(null)} wide>
      <div className="sheet-body">
        <label className="row">
          results, marks and intervals from the review of
          <select value={source} onChange={e => setSource(e.target.value)} data-testid="export-source">
            {sources.map(s => (
              <option key={s.rater} value={s.rater}>
                {s.label}
              </option>
            ))}
            {sources.length > 1 && <option value={everyone}>each of them</option>}
          </select>
        </label>
        <table className="handed-on">
          <tbody>
            {line(
              'Results table',
              'CSV, one row a rater, recorder and segment, and a JSON beside it with settings and version',
              () => exportResults(app, workspace, from, handling),
            )}
            {line('Reviewed marks', `CSV of ${recorder}: sample, time, verdict, where it was detected`, () =>
              exportMarks(workspace, from, handling),
            )}
            {line('RR intervals', `CSV of ${recorder}: every interval, whether right, and the cause when not`, () =>
              exportIntervals(workspace, from, handling),
            )}
            {line(
              'EDF+ annotations',
              `reviewed marks, segments and unreadable spans of ${recorder}, without the signal`,
              () => exportEdf(workspace, false, from, handling),
            )}
            {line('EDF+ with signal', `the whole recording of ${recorder} with the reviewed marks`, () =>
              exportEdf(workspace, true, from, handling),
            )}
            {line('Audit trail', 'CSV of every entry of the log, undone ones too', () =>
              exportAudit(workspace, from, handling),
            )}
            {line('Session bundle', 'everything in one file, to continue elsewhere or to archive', async () => {
              const entries = workspace.review.get().log.entries.length;
              const files = await bundles('as I see it');
              noteCopied(workspace, entries);
              return files;
            })}
            {line('Bundle for a blind rater', 'recordings, detected marks and segments, without any review', () =>
              bundles('blind rater'),
            )}
            {line('Strip picture, SVG', 'what the strip shows now, with scale bars', async () => [
              await picture(app, 'svg', handling),
            ])}
            {line('Strip picture, PNG', 'the same at 300 dots an inch', async () => [
              await picture(app, 'png', handling),
            ])}
          </tbody>
        </table>
        <SharingFields value={sharing} onChange={setHandingOn} />
        <p role="status" className="small" data-testid="export-said">
          {said}
        </p>
        <p className="soft small">
          Written by {appName} {appVersion}. For research and teaching on signal quality; not for diagnosis, monitoring
          or treatment.
        </p>
      </div>
    </Sheet>
  );
}

/** Refuses a passphrase that will not do before anything is written. */
function lockOf({ passphrase, again }: SharingChoice): (file: ExportFile) => ExportFile | Promise<ExportFile> {
  const problem = passphraseProblem(passphrase, again);
  if (problem !== null) throw new Error(`Nothing was written. ${problem}`);
  return file => (passphrase === '' ? file : lockedFile(file, passphrase));
}

async function picture(
  app: ReturnType<typeof useApp>,
  kind: 'svg' | 'png',
  handling: SharingChoice['handling'],
): Promise<ExportFile> {
  if (!app.chart) throw new Error('There is no strip on the screen.');
  return app.chart.picture(kind, handling);
}
