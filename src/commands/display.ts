import { between, nearest } from '../core/marks/markset';
import type { SampleIndex } from '../core/units';
import type { App } from '../state/app';
import { filterNote } from '../state/review/signals';
import { active, clampStart, type Desk, itemOf, pageSpan, putCaret } from '../state/review/workspace';
import { gains, pageSeconds, paperSpeeds, rowSeconds, type StripGeometry } from '../state/stores/view-store';
import { refuse } from './perform';

/** How the strip shows the recording: scale, rows, leads, recorders, filters. */

/** Moves the page and takes the caret along where it would be left behind: no key may act where nobody looks. */
export function scrollTo(desk: Desk, startSec: number): void {
  desk.view.setState({ startSec: clampStart(desk, startSec) });
  const { caret, review } = active(desk);
  const page = pageSpan(desk);
  if (caret >= page.start && caret < page.end) return;
  const shown = between(review.marks, page.start, page.end);
  const mark = caret < page.start ? shown[0] : shown.at(-1);
  const edge = caret < page.start ? page.start : Math.max(page.start, page.end - 1);
  desk.view.setState({ caret: (mark ?? edge) as SampleIndex });
}

/** Changes the paper speed around the caret. */
export function zoom(desk: Desk, app: App, direction: 1 | -1): boolean {
  const { mmPerSecond: now } = desk.view.getState();
  const whole = wholeSpeed(desk);
  // A view that was fitted to the recording shows all of it, whatever the last digit of a division is.
  const all = whole * (1 + 1e-9);
  if (direction === -1 && now <= all) return refuse(app, 'That is the whole recording.');
  const speed = direction === 1 ? paperSpeeds.findLast(s => s > now * (1 + 1e-9)) : paperSpeeds.find(s => s < now);
  if (direction === 1 && speed === undefined) return refuse(app, 'That is as close as it goes.');
  const next = direction === -1 ? Math.max(speed ?? 0, whole) : speed!;
  setSpeed(desk, next);
  app.shell.say(next <= all ? 'The whole recording' : `${next} mm/s`);
  return true;
}

/** The paper speed at which the page ends with the recording. */
function wholeSpeed(desk: Desk): number {
  const view = desk.view.getState();
  const { item, rateHz } = active(desk);
  const atOne = pageSeconds({ ...view, mmPerSecond: 1 }, view.geometry);
  return (atOne * rateHz) / Math.max(1, item.recording.sampleCount);
}

function setSpeed(desk: Desk, mmPerSecond: number): void {
  const { caret, rateHz } = active(desk);
  const view = desk.view.getState();
  const before = pageSeconds(view, view.geometry);
  const at = Math.min(1, Math.max(0, (caret / rateHz - view.startSec) / before));
  const after = pageSeconds({ ...view, mmPerSecond }, view.geometry);
  desk.view.setState({ mmPerSecond });
  desk.view.setState({ startSec: clampStart(desk, caret / rateHz - at * after) });
}

export function changeGain(desk: Desk, app: App, direction: 1 | -1): boolean {
  const mmPerMv = gains[nearestIndex(gains, desk.view.getState().mmPerMv) + direction];
  if (mmPerMv === undefined) return refuse(app, 'That is as far as it goes.');
  desk.view.setState({ mmPerMv });
  app.shell.say(`${mmPerMv} mm/mV`);
  return true;
}

function nearestIndex(values: readonly number[], value: number): number {
  let best = 0;
  for (const [i, v] of values.entries()) if (Math.abs(v - value) < Math.abs(values[best]! - value)) best = i;
  return best;
}

export function nextLead(desk: Desk, app: App): boolean {
  const { item } = active(desk);
  const { leads } = desk.view.getState();
  if (item.recording.leads.length < 2) return refuse(app, 'This recorder has one lead.');
  const next = leads === 'all' ? 0 : (leads + 1) % item.recording.leads.length;
  desk.view.setState({ leads: next });
  app.shell.say(`Lead ${item.recording.leads[next]!.name}`);
  return true;
}

export function allLeads(desk: Desk, app: App): boolean {
  const leads = desk.view.getState().leads === 'all' ? 0 : 'all';
  desk.view.setState({ leads });
  app.shell.say(leads === 'all' ? 'All leads' : 'One lead');
  return true;
}

/** Hands the keys to the other recorder, at the same moment by its clock. */
export function otherRecorder(desk: Desk, app: App): boolean {
  const { recordings } = desk.review.get().session;
  if (recordings.length < 2) return refuse(app, 'This session has one recorder.');
  const i = recordings.findIndex(r => r.recording.id === desk.view.getState().recordingId);
  const next = recordings[(i + 1) % recordings.length]!;
  handTo(desk, app, next.recording.id);
  app.shell.say(next.recording.recorder);
  return true;
}

/** Hands the keys to a recorder, at the same moment by its clock, on a lead that it has. */
export function handTo(desk: Desk, app: App, recordingId: string): void {
  const view = desk.view.getState();
  if (view.recordingId === recordingId) return;
  const now = active(desk);
  const shift = (seconds: number) => app.clocks.between(desk, view.recordingId, recordingId, seconds);
  const leadCount = itemOf(desk, recordingId).recording.leads.length;
  const caretSec = shift(now.caret / now.rateHz);
  desk.view.setState({
    recordingId,
    startSec: shift(view.startSec),
    leads: view.leads === 'all' || view.leads < leadCount ? view.leads : 0,
    spanStart: null,
  });
  putCaret(desk, nearestMarkTo(desk, caretSec), true);
}

function nearestMarkTo(desk: Desk, seconds: number): number {
  const { review, rateHz } = active(desk);
  const sample = Math.round(seconds * rateHz);
  const mark = review.marks[nearest(review.marks, sample)];
  return mark !== undefined && Math.abs(mark - sample) < rateHz * 0.2 ? mark : Math.max(0, sample);
}

export function changeRows(desk: Desk, app: App): boolean {
  const { rows, geometry } = desk.view.getState();
  const next = rows > 1 ? 1 : Math.max(2, geometry.rowsThatFit);
  desk.view.setState({ rowsAsked: next });
  showRows(desk, next);
  app.shell.say(next === 1 ? 'One row' : `${next} rows`);
  return true;
}

/** Shows so many rows; of fewer than before, those with the row of the caret, which stays where it is from left to right. */
function showRows(desk: Desk, rows: number): void {
  const view = desk.view.getState();
  const { caret, rateHz } = active(desk);
  const row = rowSeconds(view, view.geometry);
  const caretRow = Math.floor((caret / rateHz - view.startSec) / row);
  const above = caretRow < view.rows ? Math.max(0, caretRow - rows + 1) : 0;
  desk.view.setState({ rows });
  desk.view.setState({ startSec: clampStart(desk, view.startSec + above * row) });
}

/** A new size of the strip, or more or fewer traces in it: rows that would be too low to read are left out until they fit again. */
export function fitRows(desk: Desk, geometry: StripGeometry): void {
  const { rows, rowsAsked, geometry: before } = desk.view.getState();
  desk.view.setState({ geometry });
  const fit = Math.max(1, geometry.rowsThatFit);
  if (rows === 0) desk.view.setState({ rows: Math.min(3, fit) });
  else if (geometry.rowsThatFit !== before.rowsThatFit) {
    const asked = rowsAsked || rows;
    desk.view.setState({ rowsAsked: asked });
    if (Math.min(asked, fit) !== rows) showRows(desk, Math.min(asked, fit));
  }
}

export function bothRecorders(desk: Desk, app: App): boolean {
  const both = !desk.view.getState().bothRecorders;
  if (both && desk.review.get().session.recordings.length < 2) return refuse(app, 'This session has one recorder.');
  desk.view.setState({ bothRecorders: both });
  return true;
}

type Filters = ReturnType<Desk['view']['getState']>['filters'];

function setFilters(desk: Desk, app: App, change: (filters: Filters) => Filters): boolean {
  const filters = change(desk.view.getState().filters);
  desk.view.setState({ filters });
  app.shell.say(filterNote(filters) || 'Shown as recorded.');
  return true;
}

export function toggleBaseline(desk: Desk, app: App): boolean {
  return setFilters(desk, app, f => ({ ...f, baseline: !f.baseline }));
}

export function cycleMains(desk: Desk, app: App): boolean {
  return setFilters(desk, app, f => ({ ...f, mainsHz: f.mainsHz === 0 ? 50 : f.mainsHz === 50 ? 60 : 0 }));
}

export function toggleMuscle(desk: Desk, app: App): boolean {
  return setFilters(desk, app, f => ({ ...f, muscle: !f.muscle }));
}
