/** One stored record. Keys are arrays whose first part names the kind, e.g. ['session', id]. */
export interface StoredRecord {
  readonly key: readonly (string | number)[];
  readonly value: unknown;
}

/** Turns a record of one version into the records of the next; most upgrades return the record as it is. */
export type Upgrade = (record: StoredRecord) => readonly StoredRecord[];

/**
 * `upgrades[0]` leads from version 1 to 2, `upgrades[1]` from 2 to 3, and so on. Never change one that was released: add
 * the next, with a stored sample of the version before it among the tests.
 */
export const upgrades: readonly Upgrade[] = [
  // Records keep their shape, but logs may hold entries of version 2, which a page of version 1 cannot read.
  record => [record],
  // Records keep their shape, but leads may have stretches without words, which a page of version 2 would read as words.
  record => [record],
];

export function versionAfter(table: readonly Upgrade[]): number {
  return table.length + 1;
}

/** All records brought from `version` to the newest the table knows. */
export function upgradeRecords(
  records: readonly StoredRecord[],
  version: number,
  table: readonly Upgrade[] = upgrades,
): readonly StoredRecord[] {
  return table.slice(version - 1).reduce((all, upgrade) => all.flatMap(upgrade), records);
}
