import { replace } from '../../src/core/marks/markset';
import { match } from '../../src/core/marks/match';
import { type ScoreInput, scoreRecording } from '../../src/core/score/score';
import { sampleIndex, span } from '../../src/core/units';
import { seeded } from './electrode-motion';
import { type Bench, type Figure, mediansInTurn } from './measure';

const rateHz = 1000;
/** Keys pressed before those timed: a review is thousands of keys, and nearly all of them find the functions compiled. */
const keysBefore = 60;
/** Marks in so many hours at about 70 a minute. */
const sizes = [
  { words: '1 h', count: 4200 },
  { words: '6 h', count: 25_000 },
  { words: '24 h', count: 100_000 },
];

export const scoreBench: Bench = {
  name: 'score',
  says: 'matching and scoring everything anew after an edit; 2 % of the marks wrong, 100 unreadable spans, six segments',
  async run() {
    const figures: Figure[] = [];
    for (const { words, count } of sizes) {
      const input = scoreInput(count);
      const { beats, marks, unreadable, settings } = input;
      const middle = sampleIndex(beats[count >> 1]!);
      const [editing, matching, scoring] = mediansInTurn(
        31,
        [
          () => replace(beats, [middle], [sampleIndex(middle + 1)]),
          () => match(beats, marks, unreadable, rateHz, settings),
          () => scoreRecording(input),
        ],
        keysBefore,
      ) as [number, number, number];
      const limit = count === 100_000 ? 5 : null;
      figures.push({ of: `${words}, ${count} marks: moving one`, value: editing, unit: 'ms', limit: null });
      figures.push({ of: `${words}: matching`, value: matching, unit: 'ms', limit: null });
      figures.push({ of: `${words}: matching and scoring`, value: scoring, unit: 'ms', limit });
    }
    return figures;
  },
};

function scoreInput(count: number): ScoreInput {
  const random = seeded(1);
  const beats = new Int32Array(count);
  const marks: number[] = [];
  let at = 500;
  for (let k = 0; k < count; k++, at += 700 + Math.round(200 * random())) {
    beats[k] = at;
    const kind = random();
    if (kind < 0.007) continue;
    marks.push(kind < 0.014 ? at + 250 : at + Math.round(6 * (random() - 0.5)));
    if (kind >= 0.014 && kind < 0.02) marks.push(at + 330);
  }
  const starts = Array.from({ length: 100 }, () => Math.floor(random() * at));
  const edge = (i: number) => Math.floor((at * i) / 6);
  return {
    beats,
    marks: Int32Array.from(marks).sort(),
    unreadable: starts.sort((a, b) => a - b).map(s => span(s, s + 8000)),
    gaps: [],
    segments: Array.from({ length: 6 }, (_, i) => ({ name: `part ${i + 1}`, ...span(edge(i), edge(i + 1)) })),
    samplingRateHz: rateHz,
    settings: { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 },
  };
}
