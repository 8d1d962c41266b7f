/** Data with published or hand-made answers; the tests of each statistic and the self-check read them here. */

/** source: Newcombe, Stat Med 1998;17:857, table I, method 3 (four decimals): successes, total, lower, upper. */
export const wilsonExamples = [
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
] as const;

/** source: Cohen, Educ Psychol Meas 1960;20:37, definition, by hand: 35 of 50 agree, 25 are expected by chance. */
export const kappaExample = {
  table: [
    [20, 5],
    [10, 15],
  ],
  kappa: (35 - 25) / (50 - 25),
  observedAgreement: 0.7,
  chanceAgreement: 0.5,
} as const;

/** source: Shrout & Fleiss, Psychol Bull 1979;86:420, tables 2 and 4 (two decimals). */
export const iccExample = {
  table: [
    [9, 2, 5, 8],
    [6, 1, 3, 2],
    [8, 4, 6, 8],
    [7, 1, 2, 6],
    [10, 5, 6, 9],
    [6, 2, 4, 7],
  ],
  values: { '1,1': 0.17, '2,1': 0.29, '3,1': 0.71, '1,k': 0.44, '2,k': 0.62, '3,k': 0.91 },
} as const;

/** RR intervals in ms that alternate between 800 and 900. */
export function alternatingIntervals(count: number): number[] {
  return Array.from({ length: count }, (_, i) => (i % 2 === 0 ? 800 : 900));
}

/** source: definitions of the Task Force, Circulation 1996;93:1043, for 100 alternating intervals. */
export const alternatingAnswers = { meanNnMs: 850, rmssdMs: 100, pnn50Percent: 100 } as const;
