const distributions = '{chi-square,distributions,incomplete-beta}.ts';
const bootstrap = '{bootstrap,bootstrap-t,cluster-ratio,seeded}.ts';
const clocks = '{clock,clock-line,heart-rate-lag}.ts';
const quickAgreement = 'tests/unit/core/agreement/!(clock*).test.ts';
const formats = (files, tests) => ({
  mutate: [`src/formats/${files}.ts`],
  tests: [`tests/unit/formats/${tests}.test.ts`],
});

/** What is mutated, and the tests that must notice: only those near it, to be quick; `samples`: they read sample-sessions/. */
export const folders = {
  score: {
    mutate: ['src/core/score/*.ts', `!src/core/score/${distributions}`, `!src/core/score/${bootstrap}`],
    tests: ['tests/unit/core/score/*.test.ts', 'tests/unit/core/score-intervals/wilson.test.ts'],
  },
  'statistics-distributions': {
    mutate: [`src/core/score/${distributions}`, 'src/core/moments.ts'],
    tests: ['tests/unit/core/score-intervals/{distributions,domains,wilson}.test.ts', quickAgreement],
  },
  'statistics-bootstrap': {
    mutate: [`src/core/score/${bootstrap}`],
    tests: ['tests/unit/core/score-intervals/*.test.ts'],
  },
  marks: {
    mutate: ['src/core/marks/*.ts'],
    tests: [
      'tests/unit/core/marks/*.test.ts',
      'tests/unit/core/score/*.test.ts',
      'tests/unit/core/review/{edits,edges}.test.ts',
    ],
  },
  agreement: {
    mutate: ['src/core/agreement/*.ts', `!src/core/agreement/${clocks}`],
    tests: [quickAgreement],
  },
  'agreement-clocks': {
    mutate: [`src/core/agreement/${clocks}`],
    tests: ['tests/unit/core/agreement/{clock,edges}*.test.ts'],
  },
  'formats-edf': formats('edf/*', '{edf/*,limits}'),
  'formats-text': formats('{text/*,timeline}', '{text/*,limits}'),
  'formats-raw': formats('{raw/*,bytes/!(crc32),open,format-error}', '{raw/*,telling-apart,limits}'),
  'formats-bundle': formats('{bundle/*,zip/*,bytes/crc32}', 'bundle/*'),
  'formats-locked': formats('locked/*', 'locked/*'),
  'formats-export': {
    mutate: ['src/formats/{csv/*,opened,self-check}.ts', 'src/formats/edf/reviewed.ts'],
    tests: ['tests/unit/formats/csv/*.test.ts', 'tests/unit/core/known-answers/known-answers.test.ts'],
  },
  report: {
    mutate: ['src/report/**/*.ts'],
    tests: ['tests/unit/report/*.test.ts', 'tests/unit/core/report/*.test.ts'],
    samples: true,
  },
};

/** Tests that take seconds: a mutant meets the others first. */
export const slow = /(bland-altman|bootstrap|clock|fuzz|known-answers|locked|log|match|report|text-signal)\.test\.ts$/;

/** Folders whose tests hold properties by fast-check, which is slow to load. */
export const withProperties = /^(marks|formats)/;
