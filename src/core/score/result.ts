/** A number with the count it rests on, or the reason why there is none. Never NaN. */
export type Computed<T = number> =
  | { readonly value: T; readonly n: number }
  | { readonly value: null; readonly reason: string };

/** A two-sided interval: lower and upper limit. */
export type Interval = readonly [low: number, high: number];

/**
 * An estimate with its confidence interval at `level` (0.95 = 95 %); a value whose interval the method cannot give
 * says why in `intervalReason`.
 */
export type Estimate =
  | {
      readonly value: number;
      readonly n: number;
      readonly level: number;
      readonly interval: Interval | null;
      readonly intervalReason?: string;
      /** Which of a method's variants was used, where it has more than one. */
      readonly variant?: string;
    }
  | { readonly value: null; readonly reason: string };

export function notComputable(reason: string): { readonly value: null; readonly reason: string } {
  return { value: null, reason };
}
