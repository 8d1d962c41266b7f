import { useEffect, useState } from 'react';
import type { BoardRow } from '../../core/review/study/board';
import type { Study } from '../../core/review/study/study';
import { errorMessage } from '../../state/error-message';
import { hashOfScreen } from '../../state/stores/ui-store';
import { startReportWork } from '../../state/study/report-work';
import { reportAhead } from '../../state/study/reporting';
import { useApp } from '../app-context';
import { StudyBoard } from './study-board';
import { StudyExport } from './study-export';
import { StudyFields } from './study-fields';
import { StudyImport } from './study-import';

/** One open study: how far it is, its files, its shared settings. */
export function StudyPage({ study, onChange }: { study: Study; onChange: () => void }) {
  const app = useApp();
  const [rows, setRows] = useState<readonly BoardRow[] | null>(null);
  useEffect(() => {
    const left = new AbortController();
    const board = startReportWork('board', { sessionIds: study.sessions });
    left.signal.addEventListener('abort', board.cancel);
    board.done.then(
      rows => {
        setRows(rows);
        // A report that cannot be made says so where it is asked for.
        if (rows.length > 0) reportAhead(app, study, left.signal).catch(() => undefined);
      },
      (error: Error) => {
        if (error.name !== 'Cancelled') app.ui.notify(errorMessage(error));
      },
    );
    return () => left.abort();
  }, [app, study]);
  return (
    <>
      <StudyExport study={study}>
        <a className="button" href={hashOfScreen({ name: 'report', sessionId: study.id })}>
          Report
        </a>
      </StudyExport>
      {rows === null ? <p role="status">Reading the sessions …</p> : <StudyBoard study={study} rows={rows} />}
      <StudyImport study={study} onChange={onChange} />
      <StudyFields key={study.sessions.join()} study={study} onChange={onChange} />
    </>
  );
}
