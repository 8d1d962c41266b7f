import type { RecordingReview } from '../../core/marks/edit';
import { intersect, union } from '../../core/marks/spans';
import { markVerdicts } from '../../core/marks/verdicts';
import { noteText } from '../../core/review/places/evidence';
import { settlementOf } from '../../core/review/raters/settle';
import type { RecordingScore } from '../../core/score/score';
import type { Span } from '../../core/units';
import type { App } from '../../state/app';
import type { ComparisonWorkspace } from '../../state/compare/comparing';
import { reviewOf } from '../../state/review/review-store';
import { createStripModel } from '../review/strip-model';
import type { RaterLane, StripModel, StripRecorder } from '../strip-chart/model';

/** The strip with A above the detected marks, B below, and under them what is settled. */
export function createCompareModel(workspace: ComparisonWorkspace, app: App): () => StripModel {
  const plain = createStripModel(workspace, app);
  return () => {
    const base = plain().recorders[0]!;
    const { comparing } = workspace;
    const comparison = comparing.comparisonOf(base.id);
    const logs = comparing.logs();
    if (!comparison || !logs) return { recorders: [base] };
    const { item, a, b } = comparison.pair;
    const lane = (name: string, { marks, unreadable }: RecordingReview, { matching }: RecordingScore): RaterLane => {
      return { name, marks, verdicts: markVerdicts(matching, item.detected, marks), unreadable };
    };
    const settled = comparing.settling();
    const above = lane(`A: ${logs.a.header.rater}`, a, comparison.scoreA);
    const below = lane(`B: ${logs.b.header.rater}`, b, comparison.scoreB);
    const { inHand, checking } = comparing.store.getState();
    const now = reviewOf(workspace.review.get(), base.id);
    const open = comparison.disagreements.filter(d => !settled || settlementOf(now, d) === null);
    const stretch = comparing.stretches(base.id)[checking];
    const both: Partial<StripRecorder> = settled
      ? {}
      : {
          reviewed: b.marks,
          verdicts: below.verdicts,
          unreadable: intersect(a.unreadable, b.unreadable),
          selected: null,
        };
    const recorder: StripRecorder = {
      ...base,
      ...both,
      accepted: [{ start: 0, end: item.recording.sampleCount } as Span],
      notes: [...named(a, logs.a.header.rater), ...named(b, logs.b.header.rater)].sort((x, y) => x.start - y.start),
      laneNames: {
        detected: 'as detected',
        reviewed: `settled, ${workspace.review.get().log.header.rater}`,
        interval: settled ? 'interval, ms' : `interval of B`,
      },
      raters: {
        above,
        below,
        settled,
        disputed: union(
          [],
          open.flatMap(d => d.territory),
        ),
        inHand: stretch ? [stretch] : (comparison.disagreements[inHand]?.territory ?? []),
      },
    };
    return { recorders: [recorder] };
  };
}

function named({ notes }: RecordingReview, rater: string) {
  return notes.map(n => ({ ...n, id: `${rater} ${n.id}`, text: `${rater}: ${noteText(n)}` }));
}
