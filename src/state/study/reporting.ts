import { detectorName } from '../../core/detector/name';
import type { ReportSettings } from '../../core/report/rows';
import { defaultStudySettings } from '../../core/report/study-numbers';
import { type Handling, keepAll } from '../../core/review/privacy/identifying';
import { leavesOut } from '../../core/review/privacy/leaving-study';
import type { Study } from '../../core/review/study/study';
import { ZipWriter } from '../../formats/zip/writer';
import { figureSvg, type ShownFigure } from '../../report/figures/figure';
import { withoutDisk } from '../../storage/without-disk';
import type { BegunReport, MadeReport, ReportRequest } from '../../workers/report-jobs';
import { savedClocks } from '../clocks/fits';
import type { ExportFile } from '../export/exporting';
import type { HasLibrary } from '../library';
import { endReportWork, startReportWork } from './report-work';
import { studyById } from './studies';

/** What a person may change of a report's settings on the page. */
export interface ReportChoice {
  readonly seed: number;
  readonly draws: number;
  readonly widthPercent: number;
  readonly includeUnfinished: boolean;
  /** Whether the second detector goes over the signals, blind to the marks. */
  readonly secondDetector: boolean;
  /** What of names, codes, dates and words the report leaves out, on the screen as in its files. */
  readonly handling: Handling;
}

export const defaultReportChoice: ReportChoice = {
  seed: defaultStudySettings.bootstrap.seed,
  draws: defaultStudySettings.bootstrap.draws,
  widthPercent: defaultStudySettings.planning.widthPercent,
  includeUnfinished: false,
  secondDetector: false,
  handling: keepAll,
};

/** The sessions a report is over. */
export async function sessionsOfReport({ library }: HasLibrary, id: string): Promise<readonly string[]> {
  return (await studyById(library, id))?.sessions ?? [id];
}

/** The request for a study's report, or for that of a single session. */
export async function reportRequest(app: HasLibrary, id: string, choice: ReportChoice): Promise<ReportRequest> {
  const study = await studyById(app.library, id);
  const session = study ? null : await app.library.session(id);
  if (!study && !session)
    throw new Error('This study or session is not stored in this browser. Open its bundle again.');
  const sessionIds = study?.sessions ?? [id];
  return {
    title: study?.title ?? session!.title,
    study,
    sessionIds,
    settings: await settingsOf(app, study, session?.settings ?? null, sessionIds, choice),
  };
}

async function settingsOf(
  app: HasLibrary,
  study: Study | null,
  own: ReportSettings['match'] | null,
  sessionIds: readonly string[],
  { seed, draws, widthPercent, includeUnfinished, secondDetector, handling }: ReportChoice,
): Promise<ReportSettings> {
  const { bootstrap, planning } = defaultStudySettings;
  return {
    match: (study?.settings ?? own)!,
    statistics: { bootstrap: { ...bootstrap, seed, draws }, planning: { ...planning, seed, widthPercent } },
    includeUnfinished,
    clocks: await savedClocks(app.library, sessionIds),
    ...(secondDetector ? { secondDetector: detectorName } : {}),
    ...(leavesOut(handling) ? { handling } : {}),
  };
}

/** A report under way. `cancel` ends the work at once; `done` then rejects with a Cancelled. */
export interface ReportUnderWay {
  readonly done: Promise<MadeReport>;
  cancel(): void;
}

/** `onProgress` gets the share of the work that is done, in [0, 1]; `onBegun` the report's beginning, before its rest. */
export function makeReport(
  request: ReportRequest,
  onProgress: (share: number) => void,
  onBegun: (begun: BegunReport) => void,
): ReportUnderWay {
  let over = false;
  const work = startReportWork('report', request, ({ share, begun }) => {
    // What a worker had said before it was ended still arrives.
    if (over) return;
    onProgress(share);
    if (begun) onBegun(begun);
  });
  const done = work.done.finally(() => {
    over = true;
  });
  return { done, cancel: () => over || endReportWork(work) };
}

/** What the first report on a study will need of each session, worked out while its page is looked at. */
export async function reportAhead(app: HasLibrary, study: Study, signal: AbortSignal): Promise<void> {
  // Without a disk the work would be done on the page's own thread.
  if (withoutDisk()) return;
  const request = await reportRequest(app, study.id, defaultReportChoice);
  signal.throwIfAborted();
  const { done, cancel } = startReportWork('reportAhead', request);
  signal.addEventListener('abort', cancel);
  await done;
}

/** Every file of the report in one zip: HTML, JSON, CSV, figures. */
export async function reportZip(request: ReportRequest, id: string): Promise<ExportFile> {
  const files = await startReportWork('reportPackage', request).done;
  const zip = new ZipWriter();
  const encoder = new TextEncoder();
  for (const { path, text } of files) zip.add(path, encoder.encode(text));
  zip.end();
  const parts = [...zip.take()].map(block => new Blob([block as Uint8Array<ArrayBuffer>]));
  const codes = request.settings.handling?.codes ?? 'keep';
  return {
    name: `${codes === 'keep' ? `${id}-` : ''}report.zip`,
    blob: new Blob(parts, { type: 'application/zip' }),
  };
}

export function figureFile(figure: ShownFigure, facts: object): ExportFile {
  return { name: `${figure.id}.svg`, blob: new Blob([figureSvg(figure, true, facts)], { type: 'image/svg+xml' }) };
}
