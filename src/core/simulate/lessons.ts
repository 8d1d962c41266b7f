import type { Marks } from '../marks/markset';
import { type Random, randomFrom } from '../random';
import type { Recording, Segment } from '../recording/recording';
import { span } from '../units';
import { type Ecg, type EcgSpec, leadsOf, simulateEcg } from './ecg';
import { type LessonKey, lessonKey } from './lesson-key';
import { type LessonNoise, lessonNoise } from './lesson-noise';
import { type PlantCounts, type PlantPlan, plantMistakes } from './plant';
import { BeatClass, restingVariability } from './rhythm';
import { plainShape } from './waveform';

export type Difficulty = 1 | 2 | 3 | 4 | 5;

export interface LessonKind {
  readonly id: string;
  readonly title: string;
  /** One sentence on what to look for, shown before. */
  readonly about: string;
  /** Too long to look through: stretches of it are drawn and reviewed. */
  readonly sampled?: true;
}

interface Recipe extends LessonKind {
  readonly counts: (difficulty: Difficulty) => Partial<PlantCounts>;
  readonly noise: LessonNoise;
  readonly plan?: Omit<PlantPlan, 'stretches'>;
  readonly ectopics?: boolean;
  readonly tallT?: boolean;
  readonly inverted?: boolean;
}

const some = (d: Difficulty) => 4 + d;
const few = (d: Difficulty) => 2 + Math.floor(d / 2);
const mixed = (d: Difficulty): Partial<PlantCounts> => ({
  missed: few(d),
  wrongPeak: few(d),
  extra: few(d),
  shifted: Math.floor(d / 2),
});

const recipes: readonly Recipe[] = [
  {
    id: 'missed-peaks',
    title: 'Missed peaks',
    about: 'Some beats have no mark: look for intervals twice as long as their neighbours.',
    counts: d => ({ missed: some(d) }),
    noise: 'light',
  },
  {
    id: 'wrong-peaks',
    title: 'Wrong peaks',
    about: 'Some marks sit on a T or P wave instead of the R peak: look for a long interval beside a short one.',
    counts: d => ({ wrongPeak: some(d) - Math.floor(d / 2), shifted: Math.floor(d / 2) }),
    noise: 'light',
    plan: { wrongMarksOn: ['T wave', 'P wave'] },
  },
  {
    id: 'extra-marks',
    title: 'Extra marks',
    about: 'Some marks have no beat: look for two short intervals that add up to one.',
    counts: d => ({ extra: some(d) }),
    noise: 'light',
  },
  {
    id: 'unreadable-stretches',
    title: 'Unreadable stretches',
    about: 'In some stretches nobody can tell the beats: find them, and only them.',
    counts: () => ({}),
    noise: 'hiding',
  },
  {
    id: 'mixed',
    title: 'All kinds mixed',
    about: 'Missed peaks, wrong peaks and extra marks, and from difficulty 2 on stretches that cannot be read.',
    counts: mixed,
    noise: 'some',
  },
  {
    id: 'in-noise',
    title: 'Mistakes in noise',
    about:
      'Most mistakes lie where muscles and a moving electrode disturb the trace; most beats there can still be read.',
    counts: mixed,
    noise: 'heavy',
    plan: { noiseWeight: 15, longestRun: 2 },
  },
  {
    id: 'walking',
    title: 'Mistakes while walking',
    about:
      'Each step moves the electrodes: a swing and a rattle that come back with the steps, while the beats keep their own pace.',
    counts: mixed,
    noise: 'walking',
    plan: { noiseWeight: 15, longestRun: 2 },
  },
  {
    id: 'ectopic-beats',
    title: 'Early beats that are right',
    about: 'Early and wide beats look like mistakes, but their marks are right: correct only what is wrong.',
    counts: d => ({ missed: few(d) - 1, wrongPeak: 1 }),
    noise: 'light',
    ectopics: true,
  },
  {
    id: 'tall-t-waves',
    title: 'T waves taller than R',
    about: 'The tallest wave is not the R peak: the narrow one before it is.',
    counts: d => ({ wrongPeak: few(d) + 1, extra: few(d), missed: Math.floor(d / 2) }),
    noise: 'light',
    plan: { wrongMarksOn: ['T wave'] },
    tallT: true,
  },
  {
    id: 'inverted-lead',
    title: 'Inverted lead',
    about: 'The R peaks point down: marks belong on the lowest point of the QRS.',
    counts: mixed,
    noise: 'light',
    inverted: true,
  },
  {
    id: 'sampled-review',
    title: 'A sample of two hours',
    about:
      'Two hours, of which you review stretches drawn at random. Stop when the interval is as narrow as wanted; then the true quality is shown.',
    counts: d => ({ missed: 30 + 15 * d, wrongPeak: 10 + 6 * d, extra: 10 + 6 * d }),
    noise: 'light',
    sampled: true,
  },
];

export const lessonKinds: readonly LessonKind[] = recipes.map(kindOf);

function kindOf({ id, title, about, sampled }: Recipe): LessonKind {
  return { id, title, about, ...(sampled ? { sampled } : {}) };
}

export interface Lesson {
  readonly kind: LessonKind;
  readonly seed: string;
  readonly difficulty: Difficulty;
  readonly recording: Recording;
  readonly leads: readonly Int16Array[];
  readonly detected: Marks;
  readonly detectedBy: string;
  readonly segments: readonly Segment[];
  /** The right answers: for grading and the walk afterwards, never to be shown before. */
  readonly key: LessonKey;
}

/**
 * Two to three minutes of simulated ECG with known mistakes, or two hours of it to sample. The same id, seed and difficulty give the same bytes
 * everywhere. Throws a RangeError for an unknown id.
 */
export function makeLesson(id: string, seed: string, difficulty: Difficulty): Lesson {
  const recipe = recipes.find(r => r.id === id);
  if (!recipe) throw new RangeError(`no lesson called ${id}`);
  const full = `lesson ${id}/${seed}/${difficulty}`;
  const ecg = lessonEcg(recipe, difficulty, full);
  const counts = plantedCounts(recipe, difficulty, randomFrom(`${full}/counts`));
  const plant = plantMistakes(
    ecg,
    {
      soundBeatsBetween: difficulty < 4 ? 3 : 2,
      ...recipe.plan,
      stretches: [{ ...span(0, ecg.sampleCount), ...counts }],
    },
    full,
  );
  return {
    kind: kindOf(recipe),
    seed,
    difficulty,
    recording: lessonRecording(ecg, full),
    leads: ecg.leads,
    detected: plant.detected,
    detectedBy: 'simulated detector',
    segments: recipe.sampled ? [{ name: 'two hours', ...span(0, ecg.sampleCount) }] : halves(ecg),
    key: lessonKey(ecg, plant),
  };
}

/** Of two hours nobody shall know beforehand how many: half as many as usual to half as many again. */
function plantedCounts(recipe: Recipe, difficulty: Difficulty, random: Random): PlantCounts {
  const usual = { missed: 0, wrongPeak: 0, extra: 0, shifted: 0, ...recipe.counts(difficulty) };
  if (!recipe.sampled) return usual;
  const times = random.between(0.5, 1.5);
  const by = (count: number) => Math.round(times * count);
  return { missed: by(usual.missed), wrongPeak: by(usual.wrongPeak), extra: by(usual.extra), shifted: 0 };
}

/** Draws until a lesson on ectopic beats has at least three of them that can be read. */
function lessonEcg(recipe: Recipe, difficulty: Difficulty, seed: string): Ecg {
  for (let draw = 0; ; draw++) {
    const own = `${seed}/${draw}`;
    const ecg = simulateEcg(lessonSpec(recipe, difficulty, randomFrom(`${own}/spec`)), own);
    const ectopics = ecg.classes.filter(c => c !== BeatClass.normal).length;
    if (!recipe.ectopics || ectopics >= 3) return ecg;
  }
}

/** Harder means longer, faster, noisier, and from the fourth step on with one lead only. */
function lessonSpec(recipe: Recipe, difficulty: Difficulty, random: Random): EcgSpec {
  const durationSeconds = recipe.sampled ? 7200 : 105 + 15 * difficulty;
  const rate = random.between(62, 76) + 4 * (difficulty - 1);
  const angle = (recipe.inverted ? 180 : 0) + random.between(35, 65);
  const leads = [{ name: 'A', angleDegrees: angle }];
  if (difficulty < 4 && !recipe.sampled) leads.push({ name: 'B', angleDegrees: angle - 50 });
  const rMv = recipe.tallT ? random.between(0.55, 0.75) : random.between(0.9, 1.3);
  return {
    rhythm: {
      durationSeconds: durationSeconds + 2,
      effort: [
        { atSeconds: 0, heartRateBpm: rate, breathsPerMinute: 15, settlingSeconds: 30 },
        { atSeconds: 60, heartRateBpm: rate + 5 * difficulty, breathsPerMinute: 18, settlingSeconds: 25 },
      ],
      variability: restingVariability,
      ventricularPerMinute: recipe.ectopics ? 3 : 0,
      supraventricularPerMinute: recipe.ectopics ? 2 : 0,
    },
    shape: { ...plainShape, rMv, tScale: recipe.tallT ? random.between(3.2, 4) : random.between(0.7, 1.3) },
    recorder: {
      samplingRateHz: recipe.sampled ? 128 : 250,
      durationSeconds,
      leads,
      mvPerUnit: 0.005,
      fullScaleMv: 5,
      mainsHz: 50,
      floorMv: 0.01,
      startSeconds: 0,
      driftPpm: 0,
      noise: lessonNoise(recipe.noise, difficulty, durationSeconds, rMv, random),
    },
  };
}

function lessonRecording(ecg: Ecg, seed: string): Recording {
  return {
    id: 'lesson',
    recorder: 'simulated',
    samplingRateHz: ecg.samplingRateHz,
    sampleCount: ecg.sampleCount,
    startedAt: null,
    leads: leadsOf(ecg),
    gaps: [],
    source: `simulated, seed "${seed}"`,
  };
}

function halves(ecg: Ecg): Segment[] {
  const middle = ecg.sampleCount >> 1;
  return [
    { name: 'first half', ...span(0, middle) },
    { name: 'second half', ...span(middle, ecg.sampleCount) },
  ];
}
