import { between, nearest } from '../core/marks/markset';
import { ecgLeadOf, sameLead } from '../core/recording/ecg-lead';
import type { SampleIndex } from '../core/units';
import type { HasClocks } from '../state/clocks/fits';
import { centreRows, refillRows } from '../state/review/sampled-page';
import { filterNote } from '../state/review/signals';
import { active, clampStart, itemOf, pageSpan, putCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import { gains, pageSeconds, paperSpeeds, rowSeconds, rowsApart, type StripGeometry } from '../state/stores/view-store';
import { refuse } from './perform';

/** How the strip shows the recording: scale, rows, leads, recorders, filters. */

/** Moves the page and takes the caret along where it would be left behind: no key may act where nobody looks. */
export function scrollTo(workspace: ReviewWorkspace, startSeconds: number): void {
  workspace.view.setState({ startSeconds: clampStart(workspace, startSeconds) });
  const { caret, review } = active(workspace);
  const page = pageSpan(workspace);
  if (caret >= page.start && caret < page.end) return;
  const shown = between(review.marks, page.start, page.end);
  const mark = caret < page.start ? shown[0] : shown.at(-1);
  const edge = caret < page.start ? page.start : Math.max(page.start, page.end - 1);
  workspace.view.setState({ caret: (mark ?? edge) as SampleIndex });
}

/** A point of the page, in rows from the left edge of the first one: 1.5 is the middle of the second row. */
type Place = number;

/** The next paper speed, around the caret or around a point that is pointed at. */
export function zoom(workspace: ReviewWorkspace, app: HasUi<StatusLine>, direction: 1 | -1, place?: Place): boolean {
  const { mmPerSecond: now } = workspace.view.getState();
  const whole = wholeSpeed(workspace);
  // A view that was fitted to the recording shows all of it, whatever the last digit of a division is.
  const all = whole * (1 + 1e-9);
  if (direction === -1 && now <= all) return refuse(app, 'That is the whole recording.');
  const speed = direction === 1 ? paperSpeeds.findLast(s => s > now * (1 + 1e-9)) : paperSpeeds.find(s => s < now);
  if (direction === 1 && speed === undefined) return refuse(app, 'This is the closest zoom.');
  const next = direction === -1 ? Math.max(speed ?? 0, whole) : speed!;
  if (place === undefined) setSpeed(workspace, next);
  else zoomTo(workspace, next, secondsAt(workspace, place), place);
  saySpeed(workspace, app);
  return true;
}

/** Says the paper speed, to three digits. */
export function saySpeed(workspace: ReviewWorkspace, app: HasUi<StatusLine>): void {
  const { mmPerSecond } = workspace.view.getState();
  const all = mmPerSecond <= wholeSpeed(workspace) * (1 + 1e-9);
  app.ui.status(all ? 'The whole recording' : `${Number(mmPerSecond.toPrecision(3))} mm/s`);
}

/** Seconds on the clock of the page that lie at a point of it. */
export function secondsAt(workspace: ReviewWorkspace, place: Place): number {
  const view = workspace.view.getState();
  return view.startSeconds + place * rowSeconds(view, view.geometry);
}

/**
 * Shows these seconds at a point of the page, at any paper speed between the whole recording and the closest zoom. The
 * caret stays unless it would be left behind.
 */
export function zoomTo(workspace: ReviewWorkspace, mmPerSecond: number, seconds: number, place: Place): void {
  const within = Math.min(paperSpeeds[0], Math.max(wholeSpeed(workspace), mmPerSecond));
  if (centreRows(workspace, within)) return;
  workspace.view.setState({ mmPerSecond: within });
  const view = workspace.view.getState();
  scrollTo(workspace, seconds - place * rowSeconds(view, view.geometry));
}

/** A paper speed chosen by hand that is nearly one of the usual ones is that one. */
export function usualSpeed(mmPerSecond: number): number {
  return paperSpeeds.find(s => Math.abs(mmPerSecond / s - 1) < 0.06) ?? mmPerSecond;
}

/** The paper speed at which the page ends with the recording. */
function wholeSpeed(workspace: ReviewWorkspace): number {
  const view = workspace.view.getState();
  const { item, rateHz } = active(workspace);
  const atOne = pageSeconds({ ...view, mmPerSecond: 1 }, view.geometry);
  return (atOne * rateHz) / Math.max(1, item.recording.sampleCount);
}

function setSpeed(workspace: ReviewWorkspace, mmPerSecond: number): void {
  if (centreRows(workspace, mmPerSecond)) return;
  const { caret, rateHz } = active(workspace);
  const view = workspace.view.getState();
  const before = pageSeconds(view, view.geometry);
  const at = rowsApart(view) ? 0.4 : Math.min(1, Math.max(0, (caret / rateHz - view.startSeconds) / before));
  const after = pageSeconds({ ...view, mmPerSecond }, view.geometry);
  workspace.view.setState({ mmPerSecond });
  workspace.view.setState({ startSeconds: clampStart(workspace, caret / rateHz - at * after) });
}

const [flattest, tallest] = ['The waves cannot be drawn flatter.', 'The waves cannot be drawn taller.'];

export function changeGain(workspace: ReviewWorkspace, app: HasUi<StatusLine>, direction: 1 | -1): boolean {
  const mmPerMv = gains[nearestIndex(gains, workspace.view.getState().mmPerMv) + direction];
  if (mmPerMv === undefined) return refuse(app, direction === 1 ? tallest : flattest);
  workspace.view.setState({ mmPerMv });
  app.ui.status(`${mmPerMv} mm/mV`);
  return true;
}

/** The tallest waves that stay in their rows: flatter where one leaves, taller where there is room. */
export function fitGain(workspace: ReviewWorkspace, app: HasUi<StatusLine>, roomTaken: number | undefined): boolean {
  if (!roomTaken) return refuse(app, 'No wave is shown.');
  const now = workspace.view.getState().mmPerMv;
  const mmPerMv = gains.findLast(g => g <= (now / roomTaken) * (1 + 1e-9)) ?? gains[0]!;
  if (mmPerMv === now) return refuse(app, roomTaken > 1 ? flattest : `The waves fit at ${now} mm/mV.`);
  workspace.view.setState({ mmPerMv });
  app.ui.status(`Waves fitted to their rows: ${mmPerMv} mm/mV`);
  return true;
}

function nearestIndex(values: readonly number[], value: number): number {
  let best = 0;
  for (const [i, v] of values.entries()) if (Math.abs(v - value) < Math.abs(values[best]! - value)) best = i;
  return best;
}

export function nextLead(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { item } = active(workspace);
  const { leads } = workspace.view.getState();
  if (item.recording.leads.length < 2) return refuse(app, 'This recorder has only one lead.');
  const next = leads === 'all' ? ecgLeadOf(item.recording) : (leads + 1) % item.recording.leads.length;
  workspace.view.setState({ leads: next });
  app.ui.status(`Lead ${item.recording.leads[next]!.name}`);
  return true;
}

export function allLeads(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const leads = workspace.view.getState().leads === 'all' ? ecgLeadOf(active(workspace).item.recording) : 'all';
  workspace.view.setState({ leads });
  app.ui.status(leads === 'all' ? 'All leads' : 'One lead');
  return true;
}

/** What changing recorders needs of the page. */
export type Recorders = HasUi<StatusLine> & HasClocks;

/** Hands the keys to the other recorder, at the same moment by its clock. */
export function otherRecorder(workspace: ReviewWorkspace, app: Recorders): boolean {
  const { recordings } = workspace.review.get().session;
  if (recordings.length < 2) return refuse(app, 'This session has one recorder.');
  const i = recordings.findIndex(r => r.recording.id === workspace.view.getState().recordingId);
  const next = recordings[(i + 1) % recordings.length]!;
  activateRecorder(workspace, app, next.recording.id);
  app.ui.status(next.recording.recorder);
  return true;
}

/** Hands the keys to a recorder, at the same moment by its clock, on a lead that it has. */
export function activateRecorder(workspace: ReviewWorkspace, app: HasClocks, recordingId: string): void {
  const view = workspace.view.getState();
  if (view.recordingId === recordingId) return;
  const now = active(workspace);
  const shift = (seconds: number) => app.clocks.between(workspace, view.recordingId, recordingId, seconds);
  const { recording } = itemOf(workspace, recordingId);
  const caretSeconds = shift(now.caret / now.rateHz);
  workspace.view.setState({
    recordingId,
    startSeconds: shift(view.startSeconds),
    leads: view.leads === 'all' ? 'all' : sameLead(view.leads, now.item.recording, recording),
    spanStart: null,
  });
  putCaret(workspace, nearestMarkTo(workspace, caretSeconds), true);
}

function nearestMarkTo(workspace: ReviewWorkspace, seconds: number): number {
  const { review, rateHz } = active(workspace);
  const sample = Math.round(seconds * rateHz);
  const mark = review.marks[nearest(review.marks, sample)];
  return mark !== undefined && Math.abs(mark - sample) < rateHz * 0.2 ? mark : Math.max(0, sample);
}

export function changeRows(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  if (rowsApart(workspace.view.getState())) return refuse(app, 'A sample shows as many stretches as fit.');
  const { rows, geometry } = workspace.view.getState();
  const next = rows > 1 ? 1 : geometry.rowsThatFit;
  if (next === rows) return refuse(app, 'Only one row fits: a larger window, one lead or one recorder makes room.');
  workspace.view.setState({ rowsAsked: next });
  showRows(workspace, next);
  app.ui.status(next === 1 ? 'One row' : `${next} rows`);
  return true;
}

/** Shows so many rows; of fewer than before, those with the row of the caret, which stays where it is from left to right. */
function showRows(workspace: ReviewWorkspace, rows: number): void {
  const view = workspace.view.getState();
  const { caret, rateHz } = active(workspace);
  const row = rowSeconds(view, view.geometry);
  const caretRow = Math.floor((caret / rateHz - view.startSeconds) / row);
  const above = caretRow < view.rows ? Math.max(0, caretRow - rows + 1) : 0;
  workspace.view.setState({ rows });
  workspace.view.setState({ startSeconds: clampStart(workspace, view.startSeconds + above * row) });
}

/** A new size of the strip, or more or fewer traces in it: rows that would be too low to read are left out until they fit again. */
export function fitRows(workspace: ReviewWorkspace, geometry: StripGeometry): void {
  const { rows, rowsAsked, geometry: before } = workspace.view.getState();
  const apart = rowsApart(workspace.view.getState()) !== null;
  workspace.view.setState({ geometry });
  const fit = Math.max(1, geometry.rowsThatFit);
  if (rows === 0) workspace.view.setState({ rows: Math.min(3, fit) });
  else if (geometry.rowsThatFit !== before.rowsThatFit || rows > fit) {
    const asked = rowsAsked || rows;
    workspace.view.setState({ rowsAsked: asked });
    if (Math.min(asked, fit) !== rows) showRows(workspace, Math.min(asked, fit));
  }
  if (apart && (geometry.rowsThatFit !== before.rowsThatFit || geometry.widthPx !== before.widthPx))
    refillRows(workspace);
}

export function bothRecorders(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const both = !workspace.view.getState().bothRecorders;
  if (both && workspace.review.get().session.recordings.length < 2)
    return refuse(app, 'This session has one recorder.');
  workspace.view.setState({ bothRecorders: both });
  return true;
}

type Filters = ReturnType<ReviewWorkspace['view']['getState']>['filters'];

function setFilters(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  change: (filters: Filters) => Filters,
): boolean {
  const filters = change(workspace.view.getState().filters);
  workspace.view.setState({ filters });
  app.ui.status(filterNote(filters) || 'Shown as recorded.');
  return true;
}

export function toggleBaseline(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return setFilters(workspace, app, f => ({ ...f, baseline: !f.baseline }));
}

export function cycleMains(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return setFilters(workspace, app, f => ({ ...f, mainsHz: f.mainsHz === 0 ? 50 : f.mainsHz === 50 ? 60 : 0 }));
}

export function toggleMuscle(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return setFilters(workspace, app, f => ({ ...f, muscle: !f.muscle }));
}
