const statistics = '{bootstrap,chi-square,cluster-ratio,distributions,incomplete-beta,moments,seeded}.ts';

/** What is mutated, and the tests that must notice: only those near it, to be quick. */
export const folders = {
  score: {
    mutate: ['src/core/score/*.ts', `!src/core/score/${statistics}`],
    tests: ['tests/unit/score/*.test.ts', 'tests/unit/score-intervals/{peak-level,wilson}.test.ts'],
  },
  statistics: {
    mutate: [`src/core/score/${statistics}`],
    tests: ['tests/unit/score-intervals/*.test.ts', 'tests/unit/agreement/*.test.ts'],
  },
  marks: {
    mutate: ['src/core/marks/*.ts'],
    tests: ['tests/unit/marks/*.test.ts', 'tests/unit/score/*.test.ts', 'tests/unit/review/{edits,edges}.test.ts'],
  },
  agreement: { mutate: ['src/core/agreement/*.ts'], tests: ['tests/unit/agreement/*.test.ts'] },
  formats: {
    mutate: ['src/formats/**/*.ts'],
    tests: ['tests/unit/{formats,bundle,exports,locked,report}/*.test.ts'],
  },
};
