/** A number with the count it rests on, or the reason why there is none. Never NaN. */
export type Computed<T = number> =
  | { readonly value: T; readonly n: number }
  | { readonly value: null; readonly reason: string };

/** A two-sided confidence interval: lower and upper limit. */
export type Interval = readonly [low: number, high: number];

/** An estimate with its confidence interval at `level`, or the reason why there is none. */
export type Estimate =
  | { readonly value: number; readonly n: number; readonly interval: Interval; readonly level: number }
  | { readonly value: null; readonly reason: string };

export const notComputable = (reason: string): { readonly value: null; readonly reason: string } => ({
  value: null,
  reason,
});
