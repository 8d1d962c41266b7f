import { snappedSpan } from '../../commands/edits';
import { subtract } from '../../core/marks/spans';
import { markVerdicts } from '../../core/marks/verdicts';
import { sameLead } from '../../core/recording/ecg-lead';
import { shownNotes } from '../../core/review/places/evidence';
import { worthALook } from '../../core/review/places/groups';
import { chanceWords, placeWords } from '../../core/review/places/place-words';
import { segmentsUnderReview } from '../../core/review/standing/coverage';
import { span } from '../../core/units';
import type { App } from '../../state/app';
import { reviewOf } from '../../state/review/review-store';
import { filterNote } from '../../state/review/signals';
import { suggestionsOf } from '../../state/review/suspicions';
import { active, itemAtCaret, itemOf, type ReviewWorkspace } from '../../state/review/workspace';
import { rowsApart, type ViewState } from '../../state/stores/view-store';
import { canBeTaken, type Preview, type StripModel, type StripRecorder, sameClock } from '../strip-chart/model';

/** What the strip draws. Verdicts are read from the scores, which are remembered: stepping the caret costs nothing. */
export function createStripModel(workspace: ReviewWorkspace, app: App): () => StripModel {
  return () => {
    const view = workspace.view.getState();
    const ids = view.bothRecorders
      ? workspace.review.get().session.recordings.map(r => r.recording.id)
      : [view.recordingId];
    // The current recorder is the upper one, and the axis is its clock.
    const ordered = [view.recordingId, ...ids.filter(id => id !== view.recordingId)];
    return { recorders: ordered.map(id => recorder(workspace, app, id)) };
  };
}

function recorder(workspace: ReviewWorkspace, app: App, id: string): StripRecorder {
  const view = workspace.view.getState();
  const item = itemOf(workspace, id);
  const { recording } = item;
  const review = reviewOf(workspace.review.get(), id);
  const now = active(workspace);
  const inHand = id === view.recordingId;
  const leads =
    view.leads === 'all'
      ? recording.leads.map((_, i) => i)
      : [sameLead(view.leads, itemOf(workspace, view.recordingId).recording, recording)];
  const note = filterNote(view.filters);
  return {
    id,
    label: recording.recorder,
    samplingRateHz: recording.samplingRateHz,
    sampleCount: recording.sampleCount,
    startedAt: recording.startedAt,
    tracks: leads.map(lead => ({
      id: `${id}/${lead}`,
      recorderLabel: recording.recorder,
      leadName: recording.leads[lead]!.name,
      samplingRateHz: recording.leads[lead]!.samplingRateHz,
      columns: (start, end, count, out) => workspace.signals.columns(id, lead, start, end, count, out, view.filters),
      ...(note ? { filteredNote: note } : {}),
    })),
    detected: item.detected,
    reviewed: review.marks,
    verdicts: markVerdicts(workspace.scoreOf(id).matching, item.detected, review.marks),
    unreadable: review.unreadable,
    gaps: recording.gaps,
    accepted: review.accepted,
    segments: segmentsUnderReview(item),
    notes: shownNotes(review),
    suggestions: inHand && workspace.purpose === 'review' ? suggestionsOf(workspace.suspicions.items(id)) : [],
    selected: inHand ? now.selected : null,
    caret: inHand ? now.caret : null,
    reason: inHand ? reasonHere(workspace) : null,
    pendingSpan: inHand && view.spanStart !== null ? snappedSpan(workspace, view.spanStart, now.caret) : null,
    preview: inHand ? previewHere(workspace) : null,
    ...(inHand ? fadedOn(view, recording.sampleCount) : {}),
    axis: inHand ? sameClock : app.clocks.map(workspace, view.recordingId, id),
  };
}

/** On a page of a sample all but its stretches, those skipped too. */
function fadedOn(view: ViewState, sampleCount: number): Pick<StripRecorder, 'faded'> {
  const rows = rowsApart(view);
  if (!rows) return {};
  const stretches = rows.filter(r => !r.skipped).map(r => r.stretch);
  return { faded: subtract([span(0, sampleCount)], stretches) };
}

/** In words, with the chance of a mistake; null where nothing worth a look lies under the caret. */
function reasonHere(workspace: ReviewWorkspace): string | null {
  if (workspace.purpose !== 'review') return null;
  const item = itemAtCaret(workspace, 'shown');
  return item && item.score >= worthALook ? `${placeWords(item)} (${chanceWords(item.score)})` : null;
}

/** What one key would do here: end the span begun, or take the suggestion under the caret. */
function previewHere(workspace: ReviewWorkspace): Preview | null {
  const { spanStart, caret } = workspace.view.getState();
  const nothing = { removed: [], added: [], unreadable: null };
  if (spanStart !== null) return { ...nothing, unreadable: snappedSpan(workspace, spanStart, caret) };
  const item = workspace.purpose === 'review' ? itemAtCaret(workspace, 'shown') : undefined;
  const [choice] = item?.candidates ?? [];
  const { marks } = active(workspace).review;
  if (!item || !choice || !suggestionsOf([item]).every(s => canBeTaken(s, marks))) return null;
  if (choice.kind === 'unreadable') return { ...nothing, unreadable: { start: choice.at, end: choice.end } };
  if (choice.kind === 'delete') return { ...nothing, removed: [choice.at] };
  if (choice.kind === 'move') return { ...nothing, removed: [choice.at], added: [choice.to] };
  return { ...nothing, added: item.candidates.flatMap(c => (c.kind === 'insert' ? [c.at] : [])) };
}
