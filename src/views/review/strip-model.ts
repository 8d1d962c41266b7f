import { segmentsUnderReview } from '../../core/review/coverage';
import type { App } from '../../state/app';
import { reviewOf } from '../../state/review/review-store';
import { verdictsOfScore } from '../../state/review/scores';
import { filterNote } from '../../state/review/signals';
import { ghostsOf } from '../../state/review/suspicions';
import { active, type Desk, itemOf } from '../../state/review/workspace';
import { type StripModel, type StripRecorder, sameClock } from '../strip-chart/model';

/** What the strip draws. Verdicts are read from the scores, which are remembered: stepping the caret costs nothing. */
export function createStripModel(desk: Desk, app: App): () => StripModel {
  return () => {
    const view = desk.view.getState();
    const ids = view.bothRecorders ? desk.review.get().session.recordings.map(r => r.recording.id) : [view.recordingId];
    // The recorder in hand is the upper one, and the axis is its clock.
    const ordered = [view.recordingId, ...ids.filter(id => id !== view.recordingId)];
    return { recorders: ordered.map(id => recorder(desk, app, id)) };
  };
}

function recorder(desk: Desk, app: App, id: string): StripRecorder {
  const view = desk.view.getState();
  const item = itemOf(desk, id);
  const { recording } = item;
  const review = reviewOf(desk.review.get(), id);
  const now = active(desk);
  const inHand = id === view.recordingId;
  const leads =
    view.leads === 'all' ? recording.leads.map((_, i) => i) : [Math.min(view.leads, recording.leads.length - 1)];
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
      columns: (start, end, count, out) => desk.signals.columns(id, lead, start, end, count, out, view.filters),
      ...(note ? { filteredNote: note } : {}),
    })),
    detected: item.detected,
    reviewed: review.marks,
    verdicts: verdictsOfScore(desk.scoreOf(id), item.detected, review.marks),
    unreadable: review.unreadable,
    gaps: recording.gaps,
    accepted: review.accepted,
    segments: segmentsUnderReview(item),
    notes: review.notes,
    ghosts: inHand && desk.purpose === 'review' ? ghostsOf(desk.suspicions.items(id)) : [],
    selected: inHand ? now.selected : null,
    caret: inHand ? now.caret : null,
    pendingSpan: inHand && view.spanStart !== null ? ordered(view.spanStart, now.caret) : null,
    ...(desk.practice ? { pointers: desk.practice.pointers() } : {}),
    axis: inHand ? sameClock : app.clocks.map(desk, view.recordingId, id),
  };
}

function ordered(a: number, b: number) {
  return { start: Math.min(a, b), end: Math.max(a, b) } as StripRecorder['pendingSpan'];
}
