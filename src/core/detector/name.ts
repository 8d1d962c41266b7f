/** Who placed the marks, as sessions keep it. The number goes up when the same signal would get other marks. */
export const detectorName = 'built-in detector 11';
