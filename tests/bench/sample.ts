import { acceptStretches, goOnWithSample } from '../../src/commands/sampling';
import { newLog } from '../../src/core/marks/log';
import { marksFrom } from '../../src/core/marks/markset';
import { defaultMatchSettings } from '../../src/core/marks/match';
import type { Recording } from '../../src/core/recording/recording';
import { logHeader, type Session } from '../../src/core/review/session';
import { planReview } from '../../src/core/review/standing/sampled';
import { type LaidOutPlan, layOut, planSample } from '../../src/core/sample/plan';
import type { Step } from '../../src/core/sample/population';
import { SampledQuality } from '../../src/core/sample/sampled-quality';
import { span } from '../../src/core/units';
import { createClocks } from '../../src/state/clocks/clocks';
import { createOccurrences } from '../../src/state/review/occurrences';
import { createReviewStore } from '../../src/state/review/review-store';
import { sampledOf } from '../../src/state/review/sampling';
import { createSignals } from '../../src/state/review/signals';
import { noSuspicions } from '../../src/state/review/suspicions';
import { openGate, type ReviewWorkspace, scoresOf } from '../../src/state/review/workspace';
import { createUiStore } from '../../src/state/stores/ui-store';
import { createViewStore } from '../../src/state/stores/view-store';
import { seeded } from './electrode-motion';
import { type Bench, type Figure, medianWorkMs } from './measure';

const rateHz = 250;
const stretchCount = 20_000;
const beatCount = 100_000;
const samples = 24 * 3600 * rateHz;
/** Stretches after which the next ones are timed: most samples stop between them. */
const places = [50, 500, 1500];
const timed = 30;

export const sampleBench: Bench = {
  name: 'sample',
  says: 'a sampled review of 24 h, 100,000 beats, 20,000 stretches: the next stretch after Enter, with number, interval and plot',
  async run() {
    const { workspace, app } = begun();
    const figures: Figure[] = [];
    let taken = 0;
    const next = () => {
      if (!acceptStretches(workspace, app)) throw new Error(app.ui.getState().said);
      const [found] = sampledOf(workspace, id);
      taken++;
      if (found!.whole.reviewed !== taken || found!.track.at(-1)!.reviewed !== taken)
        throw new Error('a stretch is missing');
    };
    for (const place of places) {
      while (taken < place - 1) next();
      figures.push({ of: `after ${place} stretches`, value: medianWorkMs(timed, next), unit: 'ms', limit: 5 });
    }
    figures.push(...replays(sampledOf(workspace, id)[0]!.laidOut));
    return figures;
  },
};

/** The arithmetic alone, from the first step on: after an edit of a stretch that was reviewed before. */
function replays(laidOut: LaidOutPlan): Figure[] {
  return [1000, 4000].map(count => {
    const random = seeded(3);
    const steps = [...laidOut.order].slice(0, count).map((stretch): Step => {
      const errors = random() < 0.03 ? 2 : 0;
      return { stretch, kind: 'drawn', errors, intervals: 5 };
    });
    const ms = medianWorkMs(7, () => {
      const quality = new SampledQuality(laidOut.population);
      for (const step of steps) quality.add(step);
      quality.share();
    });
    return { of: `replay of ${count} stretches`, value: ms, unit: 'ms', limit: 200 };
  });
}

const id = 'long';

/** A day with 1 % of the beats missed and its sample planned; the first stretch is shown. */
function begun() {
  const session = day();
  const [item] = session.recordings;
  const log = newLog(logHeader(session, 'R1'));
  const now = () => new Date(0);
  const access = { writable: true, why: null };
  const review = createReviewStore({ session, log, others: [], access }, async () => undefined, now);
  const view = createViewStore();
  view.setState({ recordingId: id, rows: 1 });
  const workspace: ReviewWorkspace = {
    review,
    view,
    signals: createSignals([item!.recording]),
    suspicions: noSuspicions(true),
    occurrences: createOccurrences(),
    purpose: 'review',
    gate: openGate,
    scoreOf: scoresOf(review),
    close: async () => undefined,
  };
  const app = { ui: createUiStore(), clocks: createClocks(), now };
  const plan = planSample({
    segment: null,
    seed: 2407,
    stretchSeconds: (24 * 3600) / stretchCount,
    contextSeconds: 2,
    halfWidth: 0.001,
    segments: item!.segments,
    samplingRateHz: rateHz,
    detected: item!.detected,
    second: null,
    suspected: [],
  });
  if (layOut(plan, item!.segments, rateHz).stretches.length !== stretchCount) throw new Error('not 20,000 stretches');
  const change = planReview({ item: item!, review: review.get().replayed.recordings.get(id)!, finished: false }, plan);
  if (!Array.isArray(change)) throw new Error('the sample was not planned');
  review.act({ recording: id, intent: 'sample', change });
  if (!goOnWithSample(workspace, app)) throw new Error('no stretch is shown');
  return { workspace, app };
}

function day(): Session {
  const random = seeded(1);
  const apart = samples / beatCount;
  const beats = Array.from({ length: beatCount }, (_, k) => Math.round(apart * (k + 0.2 + 0.3 * random())));
  const recording: Recording = {
    id,
    recorder: 'adhesive logger',
    samplingRateHz: rateHz,
    sampleCount: samples,
    startedAt: null,
    leads: [],
    gaps: [],
    source: 'invented',
  };
  const detected = marksFrom(beats.filter(() => random() >= 0.01));
  const segments = [{ name: 'watch', ...span(0, samples) }];
  return {
    id: 'day',
    title: 'A day',
    participant: 'V98',
    recordings: [{ recording, detected, detectedBy: 'invented', segments }],
    settings: defaultMatchSettings,
  };
}
