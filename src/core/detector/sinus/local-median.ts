/** Median of up to `reach` values on either side of place `at` in a list, or another quantile; 0 when there are none. */
export function medianAt(values: Float32Array, at: number, reach: number, share = 0.5): number {
  const near = values.slice(Math.max(0, at - reach), Math.min(values.length, at + reach)).sort();
  const place = share * (near.length - 1);
  return near.length === 0 ? 0 : (near[Math.floor(place)]! + near[Math.ceil(place)]!) / 2;
}
