/** What is mutated, and the tests that must notice. */
export const folders = {
  marks: { mutate: ['src/core/marks/**/*.ts'], tests: ['tests/unit/{marks,score,review}/**/*.test.ts'] },
  score: {
    mutate: ['src/core/score/**/*.ts'],
    tests: ['tests/unit/{score,score-intervals,known-answers}/**/*.test.ts', 'tests/unit/marks/verdicts.test.ts'],
  },
  agreement: { mutate: ['src/core/agreement/**/*.ts'], tests: ['tests/unit/agreement/**/*.test.ts'] },
  formats: {
    mutate: ['src/formats/**/*.ts'],
    tests: ['tests/unit/{formats,bundle,exports,locked,report}/**/*.test.ts'],
  },
};
