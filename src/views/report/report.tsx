import { useEffect, useState } from 'react';
import { figureSvg } from '../../report/figures/figure';
import { errorMessage } from '../../state/error-message';
import { download, type ExportFile } from '../../state/export/exporting';
import { hashOfScreen } from '../../state/stores/ui-store';
import {
  defaultReportChoice,
  figureFile,
  type ReportChoice,
  reportRequest,
  reportZip,
  sessionsOfReport,
} from '../../state/study/reporting';
import type { MadeReport } from '../../workers/report-jobs';
import { useApp, usePart } from '../app-context';
import { NoticeList } from '../controls/notices';
import { backToSessions, OpeningScreen, UnavailableScreen } from '../controls/opened-workspace';
import { UnblindGate } from '../controls/unblind-gate';
import { picturePng } from '../strip-chart/picture-png';
import { pickedFigure } from './picked-figure';
import { printFigure } from './print-figure';
import { ReportChoices } from './report-choices';
import { ReportPages } from './report-pages';
import { useReport } from './use-report';
import './report.css';

/** The report of a study or a session; asks first whoever may still rate a session of it. */
export function ReportScreen({ id }: { id: string }) {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const [sessionIds, setSessionIds] = useState<readonly string[] | null>(null);
  const [problem, setProblem] = useState('');
  useEffect(() => {
    app.prefs
      .load()
      .then(() => sessionsOfReport(app, id))
      .then(setSessionIds, (error: Error) => setProblem(errorMessage(error)));
  }, [app, id]);
  if (problem) return <UnavailableScreen words={problem} back={backToSessions} />;
  if (!sessionIds) return <OpeningScreen what="Opening the report" back={backToSessions} />;
  return (
    <UnblindGate sessionIds={sessionIds} rater={rater} by="report" what="The report">
      <Report id={id} />
    </UnblindGate>
  );
}

/** Computed in the background, shown as it prints. */
function Report({ id }: { id: string }) {
  const app = useApp();
  const [choice, setChoice] = useState<ReportChoice>(defaultReportChoice);
  const { begun, made, problem, share, cancel } = useReport(id, choice);
  const [busy, setBusy] = useState('');
  useTitle(begun?.title ?? null);
  const give = async (what: string, make: () => Promise<ExportFile>) => {
    setBusy(what);
    try {
      download([await make()]);
    } catch (error) {
      app.ui.notify(errorMessage(error));
    }
    setBusy('');
  };
  return (
    <>
      <NoticeList />
      <header className="report-tools no-print">
        <nav className="row" aria-label="Navigation">
          <a href={hashOfScreen({ name: 'start' })}>Sessions</a>
          <a href={hashOfScreen({ name: 'study', studyId: begun?.ofStudy ? id : '' })}>
            {begun?.ofStudy ? 'Study' : 'Studies'}
          </a>
        </nav>
        <ReportChoices choice={choice} busy={made === null && !problem} onChange={setChoice} />
        <div className="row">
          <button type="button" className="chief" disabled={!made} onClick={() => window.print()}>
            Print, or save as PDF
          </button>
          <button
            type="button"
            disabled={!made || busy !== ''}
            onClick={() => void give('zip', async () => reportZip(await reportRequest(app, id, choice), id))}
          >
            {busy === 'zip' ? 'Writing …' : 'All files: HTML, JSON, CSV, figures'}
          </button>
          {begun && <FigureButtons made={made} busy={busy} give={give} />}
        </div>
      </header>
      {problem && (
        <p className="start" role="alert">
          {problem}
        </p>
      )}
      {begun && <ReportPages beginning={begun.beginning} rest={made?.rest ?? null} foot={begun.foot} />}
      {!made && !problem && (
        <p className="report-waiting" role="status">
          <label className="row">
            {begun ? 'More follows here: computing the rest …' : 'Computing every number …'}{' '}
            <progress max={1} value={share} />
          </label>
          <button type="button" onClick={cancel}>
            Cancel
          </button>
        </p>
      )}
    </>
  );
}

/** The browser proposes the document's title as the name of the PDF. */
function useTitle(title: string | null): void {
  useEffect(() => {
    if (title === null) return;
    const before = document.title;
    document.title = title;
    return () => {
      document.title = before;
    };
  }, [title]);
}

interface Giving {
  /** Null while it is not whole: the controls then only keep their places. */
  readonly made: MadeReport | null;
  readonly busy: string;
  readonly give: (what: string, make: () => Promise<ExportFile>) => Promise<void>;
}

/** One figure as a file of its own. */
function FigureButtons({ made, busy, give }: Giving) {
  const [picked, setPicked] = useState('');
  const figure = pickedFigure(made?.figures ?? [], picked);
  const facts = made?.facts ?? {};
  const png = async () => {
    const blob = await picturePng(figureSvg(figure!, true, facts));
    return { name: `${figure!.id}.png`, blob };
  };
  return (
    <span className="row">
      <label className="row">
        one figure
        <select value={figure?.id ?? ''} onChange={e => setPicked(e.target.value)} data-testid="figure-choice">
          {made?.figures.map(f => (
            <option key={f.id} value={f.id}>
              {f.title}
            </option>
          ))}
        </select>
      </label>
      <button
        type="button"
        disabled={!figure || busy !== ''}
        onClick={() => void give('svg', async () => figureFile(figure!, facts))}
      >
        as SVG
      </button>
      <button type="button" disabled={!figure || busy !== ''} onClick={() => printFigure(figure!)}>
        as PDF, by printing
      </button>
      <button type="button" disabled={!figure || busy !== ''} onClick={() => void give('png', png)}>
        as PNG, 300 dpi
      </button>
    </span>
  );
}
