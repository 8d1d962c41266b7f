import type { Marks } from '../../../../src/core/marks/markset';
import { marksFrom } from '../../../../src/core/marks/markset';
import { match } from '../../../../src/core/marks/match';
import { union } from '../../../../src/core/marks/spans';
import { markVerdicts } from '../../../../src/core/marks/verdicts';
import { type StripRecorder, sameClock } from '../../../../src/views/strip-chart/model';

/** A recorder with the given marks at 1000 Hz and one flat track with a peak of 1.1 mV at every reviewed beat. */
export function recorderWith(detected: number[], reviewed: number[], more: Partial<StripRecorder> = {}): StripRecorder {
  const samplingRateHz = more.samplingRateHz ?? 1000;
  const unreadable = more.unreadable ?? [];
  const gaps = more.gaps ?? [];
  const d = marksFrom(detected);
  const r = marksFrom(reviewed);
  return {
    id: 'a',
    label: 'chest band',
    samplingRateHz,
    sampleCount: 20_000,
    startedAt: null,
    tracks: [peaked('a-II', 'II', samplingRateHz, r)],
    detected: d,
    reviewed: r,
    verdicts: markVerdicts(match(r, d, union(unreadable, gaps), samplingRateHz), d, r),
    unreadable,
    gaps,
    accepted: [],
    segments: [],
    notes: [],
    suggestions: [],
    selected: null,
    caret: null,
    pendingSpan: null,
    axis: sameClock,
    ...more,
  };
}

function peaked(id: string, leadName: string, samplingRateHz: number, beats: Marks): StripRecorder['tracks'][number] {
  return {
    id,
    recorderLabel: 'chest band',
    leadName,
    samplingRateHz,
    columns(startSeconds, endSeconds, columnCount, out) {
      const per = ((endSeconds - startSeconds) * samplingRateHz) / columnCount;
      for (let c = 0; c < columnCount; c++) {
        const from = startSeconds * samplingRateHz + c * per - 0.5;
        out.min[c] = 0;
        out.max[c] = beats.some(b => b >= from && b < from + per) ? 1.1 : 0;
      }
      return 'exact';
    },
  };
}
