const distributions = '{chi-square,distributions,incomplete-beta}.ts';
const bootstrap = '{bootstrap,bootstrap-t,cluster-ratio,seeded}.ts';
const clocks = '{clock,clock-line,heart-rate-lag}.ts';
const quickAgreement = 'tests/unit/agreement/!(clock*).test.ts';
const formats = (files, tests) => ({ mutate: [`src/formats/${files}.ts`], tests: [`tests/unit/${tests}.test.ts`] });

/** What is mutated, and the tests that must notice: only those near it, to be quick; `samples`: they read sample-sessions/. */
export const folders = {
  score: {
    mutate: ['src/core/score/*.ts', `!src/core/score/${distributions}`, `!src/core/score/${bootstrap}`],
    tests: ['tests/unit/score/*.test.ts', 'tests/unit/score-intervals/{peak-level,wilson}.test.ts'],
  },
  'statistics-distributions': {
    mutate: [`src/core/score/${distributions}`, 'src/core/moments.ts'],
    tests: ['tests/unit/score-intervals/{distributions,domains,wilson}.test.ts', quickAgreement],
  },
  'statistics-bootstrap': {
    mutate: [`src/core/score/${bootstrap}`],
    tests: ['tests/unit/score-intervals/*.test.ts'],
  },
  marks: {
    mutate: ['src/core/marks/*.ts'],
    tests: ['tests/unit/marks/*.test.ts', 'tests/unit/score/*.test.ts', 'tests/unit/review/{edits,edges}.test.ts'],
  },
  agreement: {
    mutate: ['src/core/agreement/*.ts', `!src/core/agreement/${clocks}`],
    tests: [quickAgreement],
  },
  'agreement-clocks': {
    mutate: [`src/core/agreement/${clocks}`],
    tests: ['tests/unit/agreement/{clock,edges}*.test.ts'],
  },
  'formats-edf': formats('edf-*', 'formats/{edf-*,limits}'),
  'formats-text': formats('{text-*,marks-*,segments-*,timeline}', 'formats/{text-*,marks-text,segments-text,limits}'),
  'formats-raw': formats(
    '{raw,gunzip,open,source,memory-sink,format-error}',
    'formats/{raw-open,telling-apart,limits}',
  ),
  'formats-bundle': formats('{bundle-*,review-file,crc32}', 'bundle/*'),
  'formats-locked': formats('locked', 'locked/*'),
  'formats-export': formats(
    '{export-!(report),opened,strip-signal,self-check}',
    '{exports/*,known-answers/known-answers}',
  ),
  'formats-report': { ...formats('{report-*,export-report,figures/*}', 'report/*'), samples: true },
};

/** Tests that take seconds: a mutant meets the others first. */
export const slow = /(bland-altman|bootstrap|clock|fuzz|known-answers|locked|log|match|report|text-signal)\.test\.ts$/;

/** Folders whose tests hold properties by fast-check, which is slow to load. */
export const withProperties = /^(marks|formats)/;
