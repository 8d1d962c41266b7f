import type { Change } from '../../src/core/marks/edit';
import { append, type EditLog, type Intent, newLog, replay } from '../../src/core/marks/log';
import { marksFrom } from '../../src/core/marks/markset';
import { defaultMatchSettings } from '../../src/core/marks/match';
import type { Recording } from '../../src/core/recording/recording';
import * as edits from '../../src/core/review/edits';
import { detectedOf, logHeader, type Session } from '../../src/core/review/session';
import { simulateEcg } from '../../src/core/simulate/ecg';
import { restingVariability } from '../../src/core/simulate/rhythm';
import { plainShape } from '../../src/core/simulate/waveform';
import { sampleIndex, span } from '../../src/core/units';
import { writeBundle } from '../../src/formats/bundle/writer';

/** Two minutes in two segments, one recorder; beats known, one beat undetected and one mark too many. */
export const rateHz = 250;
export const segmentNames = ['seated radio watch', 'approach hike'] as const;

const ecg = simulateEcg(
  {
    rhythm: {
      durationSeconds: 122,
      effort: [{ atSeconds: 0, heartRateBpm: 80, breathsPerMinute: 15, settlingSeconds: 30 }],
      variability: restingVariability,
      ventricularPerMinute: 0,
      supraventricularPerMinute: 0,
    },
    shape: plainShape,
    recorder: {
      samplingRateHz: rateHz,
      durationSeconds: 120,
      leads: [{ name: 'A', angleDegrees: 55 }],
      mvPerUnit: 0.005,
      fullScaleMv: 5,
      mainsHz: 50,
      floorMv: 0.004,
      startSeconds: 0,
      driftPpm: 0,
      noise: [],
    },
  },
  'two raters at the radio',
);

export const beats: readonly number[] = [...ecg.beats];
/** Counted by hand off the list of beats: how many each segment holds. */
export const n1 = beats.filter(b => b < 60 * rateHz).length;
export const n2 = beats.length - n1;

/** Places of the planted mistakes and differences, as numbers of beats. */
export const missedBeat = 20;
const extraAfter = 40;
export const removedByB = 100;
export const movedByB = 130;
const unreadableByB = [141, 142] as const;

const middle = (i: number) => Math.round((beats[i]! + beats[i + 1]!) / 2);
const extraMark = middle(extraAfter);
export const noisy = span(middle(unreadableByB[0] - 1), middle(unreadableByB[1]));
/** 120 ms: beyond the tolerance of 50 ms, within the window of 400 ms. */
export const apart = 30;

const recording: Recording = {
  id: 'band',
  recorder: 'chest band',
  samplingRateHz: rateHz,
  sampleCount: ecg.sampleCount,
  startedAt: '2026-09-12T09:00:00',
  leads: [
    {
      name: 'A',
      samplingRateHz: rateHz,
      sampleCount: ecg.sampleCount,
      format: 'int16',
      mvPerUnit: 0.005,
      offset: 0,
      fileUnit: 'mV',
    },
  ],
  gaps: [],
  source: 'simulated',
};

export const session: Session = {
  id: 'two-raters',
  title: 'Two raters at the radio',
  participant: 'V98',
  recordings: [
    {
      recording,
      detected: marksFrom([...beats.filter((_, i) => i !== missedBeat), extraMark]),
      detectedBy: 'the recorder',
      segments: [
        { name: segmentNames[0], ...span(0, 60 * rateHz) },
        { name: segmentNames[1], ...span(60 * rateHz, ecg.sampleCount) },
      ],
    },
  ],
  settings: defaultMatchSettings,
};

export function bundleOf(logs: readonly EditLog[], of: Session = session, words = ecg.leads[0]!): Buffer {
  return Buffer.from(writeBundle({ session: of, logs }, () => words));
}

/** The same words but for one. */
export function otherSignal() {
  const words = ecg.leads[0]!.slice();
  words[1000] = words[1000]! + 1;
  return words;
}

/** A log as the page would write it, act by act. */
class Writing {
  log: EditLog;
  constructor(
    rater: string,
    private readonly at = '2026-09-13T10:00:00.000Z',
  ) {
    this.log = newLog(logHeader(session, rater));
  }

  act(intent: Intent, build: (editing: edits.Editing) => edits.Built): this {
    const { recordings, finished } = replay(this.log, detectedOf(session));
    const built = build({ item: session.recordings[0]!, review: recordings.get('band')!, finished });
    if (built === null || edits.isRefusal(built)) throw new Error(JSON.stringify(built));
    return this.append(intent, 'band', built);
  }

  append(intent: Intent, recordingId: string, change: Change): this {
    this.log = append(this.log, { at: this.at, recording: recordingId, intent, change }).log;
    return this;
  }

  finish(): EditLog {
    const all = span(0, ecg.sampleCount);
    this.act('look', e => edits.look(e, all)).act('accept', e => edits.acceptSpan(e, all));
    for (const name of segmentNames) this.act('sign off', e => edits.signOff(e, name, this.at, null));
    return this.append('finish', '', []).log;
  }
}

/** R1 finds the beats where they are. */
export function reviewOfR1(): EditLog {
  return new Writing('R1')
    .act('insert', e => edits.insertMark(e, sampleIndex(beats[missedBeat]!)))
    .act('delete', e => edits.deleteMark(e, sampleIndex(extraMark)))
    .act('comment', e =>
      edits.addNote(e, { id: 'n1', kind: 'comment', ...span(extraMark, extraMark), text: 'a lone mark on a T wave' }),
    )
    .finish();
}

/** R2 keeps the mark too many, takes out a beat, puts one elsewhere, and cannot read two. */
export function reviewOfR2(rater = 'R2'): EditLog {
  const moved = beats[movedByB]!;
  return new Writing(rater)
    .act('insert', e => edits.insertMark(e, sampleIndex(beats[missedBeat]!)))
    .act('delete', e => edits.deleteMark(e, sampleIndex(beats[removedByB]!)))
    .act('move', e => edits.moveMark(e, sampleIndex(moved), sampleIndex(moved + apart)))
    .act('unreadable', e => edits.addUnreadable(e, noisy))
    .finish();
}
