import type { Change } from '../../../../../src/core/marks/edit';
import { append, type EditLog, type Intent, newLog, replay } from '../../../../../src/core/marks/log';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import type { Built, Editing } from '../../../../../src/core/review/edits';
import { isRefusal } from '../../../../../src/core/review/edits';
import { detectedOf, logHeader, type Session, type SessionRecording } from '../../../../../src/core/review/session';
import { drawsOf, layOutPlan, planReview, takeStretches } from '../../../../../src/core/review/standing/sampled';
import { planSample } from '../../../../../src/core/sample/plan';
import { sampleIndex, span } from '../../../../../src/core/units';

const rateHz = 100;

/** Twenty minutes with a beat every 0.8 s and a gap of half a minute; every 40th beat has no mark. */
function sampledItem(): SessionRecording {
  const sampleCount = 1200 * rateHz;
  const beats = trueBeats();
  return {
    recording: {
      id: 'chest-band',
      recorder: 'chest band',
      samplingRateHz: rateHz,
      sampleCount,
      startedAt: null,
      leads: [
        {
          name: 'lead I',
          samplingRateHz: rateHz,
          sampleCount,
          format: 'int16',
          mvPerUnit: 0.005,
          offset: 0,
          fileUnit: 'mV',
        },
      ],
      gaps: [span(60_000, 63_000)],
      source: 'invented',
    },
    detected: marksFrom(beats.filter((_, i) => i % 40 !== 39)),
    detectedBy: 'the chest band',
    segments: [
      { name: 'rest', ...span(0, 50_000) },
      { name: 'walk', ...span(50_000, sampleCount) },
    ],
  };
}

/** Where the beats are. */
export function trueBeats(): number[] {
  return Array.from({ length: 1500 }, (_, i) => 20 + 80 * i).filter(b => b < 60_000 || b >= 63_000);
}

/** A rater at work on the recording, entry by entry. */
export class Rater {
  readonly item = sampledItem();
  readonly session: Session;
  log: EditLog;

  constructor() {
    this.session = {
      id: 'V01-sampled',
      title: 'V01',
      participant: 'V01',
      settings: defaultMatchSettings,
      recordings: [this.item],
    };
    this.log = newLog(logHeader(this.session, 'R1'));
  }

  get editing(): Editing {
    const { recordings, finished } = replay(this.log, detectedOf(this.session));
    return { item: this.item, review: recordings.get('chest-band')!, finished };
  }

  write(intent: Intent, built: Built, extra: { undoes?: number } = {}): void {
    if (built === null || isRefusal(built)) throw new Error(built?.refused ?? 'nothing to write');
    const draft = {
      at: '2026-06-01T08:00:00.000Z',
      recording: 'chest-band',
      intent,
      change: built as Change,
      ...extra,
    };
    this.log = append(this.log, draft).log;
  }

  plan(segment: string | null, seed = 11): void {
    const { item } = this;
    const plan = planSample({
      segment,
      seed,
      stretchSeconds: 10,
      contextSeconds: 2,
      halfWidth: 0.01,
      segments: segment === null ? item.segments : item.segments.filter(s => s.name === segment),
      samplingRateHz: rateHz,
      detected: item.detected,
      second: marksFrom(trueBeats()),
      suspected: [{ at: 3200, score: 0.9 }],
    });
    this.write('sample', planReview(this.editing, plan));
  }

  get laidOut() {
    return layOutPlan(this.item, this.editing.review.samplePlans[0]!)!;
  }

  /** The stretch that the sample shows next. */
  get next(): number | undefined {
    return drawsOf(this.item, this.editing.review, this.laidOut, 1).next[0];
  }

  /** Puts the missing marks of the next stretch and accepts it, or skips it. */
  take(outcome: 'reviewed' | 'skipped' = 'reviewed'): number {
    const next = this.next!;
    const { start, end } = this.laidOut.stretches[next]!;
    if (outcome === 'reviewed') {
      const here = new Set(this.editing.review.marks);
      // The interval that begins in the stretch may end after it: the rater sees the beat in the context.
      const missing = trueBeats().filter(b => b >= start && b < end + 200 && !here.has(b));
      for (const b of missing) this.write('insert', [{ op: 'marks', removed: [], added: [sampleIndex(b)] }]);
    }
    this.write(outcome === 'reviewed' ? 'accept' : 'skip', takeStretches(this.editing, this.laidOut, [next], outcome));
    return next;
  }
}
