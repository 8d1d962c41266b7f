/** A number with its noun: `1 gap`, `2 gaps`. */
export const amount = (n: number, one: string, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;
