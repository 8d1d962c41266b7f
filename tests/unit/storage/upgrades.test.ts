import { describe, expect, test } from 'vitest';
import { type Upgrade, upgradeRecords, upgrades, versionAfter } from '../../../src/storage/upgrades';

const rename: Upgrade = ({ key, value }) => [{ key: key.map(part => (part === 'old' ? 'new' : part)), value }];
const split: Upgrade = ({ key, value }) =>
  Array.isArray(value) ? value.map((item, i) => ({ key: [...key, i], value: item })) : [{ key, value }];
const dropEmpty: Upgrade = record => (record.value === null ? [] : [record]);
const table = [rename, split, dropEmpty];

describe('upgrades of stored records', () => {
  test('each version passes through every later step, in order', () => {
    expect(upgradeRecords([{ key: ['old', 'x'], value: ['a', null] }], 1, table)).toEqual([
      { key: ['new', 'x', 0], value: 'a' },
    ]);
    expect(upgradeRecords([{ key: ['old'], value: null }], 3, table)).toEqual([]);
    expect(upgradeRecords([{ key: ['old'], value: 1 }], 4, table)).toEqual([{ key: ['old'], value: 1 }]);
  });

  test('the newest version follows from the table', () => {
    expect(versionAfter(table)).toBe(4);
    expect(versionAfter(upgrades)).toBe(upgrades.length + 1);
  });
});
