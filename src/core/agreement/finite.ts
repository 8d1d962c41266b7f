/** Whether every value is a number: a missing one must not pass into a statistic unseen. */
export function allFinite(...lists: readonly ArrayLike<number>[]): boolean {
  for (const list of lists) for (let i = 0; i < list.length; i++) if (!Number.isFinite(list[i])) return false;
  return true;
}

export const notANumber = 'a value is not a number';
