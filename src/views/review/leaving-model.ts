import type { Handling } from '../../core/review/privacy/identifying';
import type { Leaving } from '../../core/review/privacy/leaving';
import type { StripModel, StripRecorder } from '../strip-chart/model';

/** The strip as it may leave: names and times as the session has them where it leaves, marks and trace as they are. */
export function leavingModel(model: StripModel, left: Leaving, { remarks }: Handling): StripModel {
  return { recorders: model.recorders.map(r => leavingRecorder(r, left, remarks === 'drop')) };
}

function leavingRecorder(r: StripRecorder, { session, names }: Leaving, silent: boolean): StripRecorder {
  const { recording } = session.recordings.find(item => item.recording.id === names.recording(r.id))!;
  const leadName = (trackId: string, shown: string) => {
    return recording.leads[Number(trackId.slice(trackId.lastIndexOf('/') + 1))]?.name ?? shown;
  };
  const lane = <T extends { readonly name: string }>(rater: T): T => ({ ...rater, name: names.rater(rater.name) });
  return {
    ...r,
    id: recording.id,
    label: recording.recorder,
    startedAt: recording.startedAt,
    tracks: r.tracks.map(t => ({ ...t, recorderLabel: recording.recorder, leadName: leadName(t.id, t.leadName) })),
    segments: r.segments.map(s => ({ ...s, name: names.segment(s.name) })),
    notes: r.notes.map(n => ({
      ...n,
      ...(n.recorder ? { recorder: recording.recorder } : {}),
      text: silent ? '' : n.text,
    })),
    ...(r.raters ? { raters: { ...r.raters, above: lane(r.raters.above), below: lane(r.raters.below) } } : {}),
  };
}
