import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ChunkCache } from '../../../src/storage/chunk-cache';

describe('chunk cache', () => {
  test('the least recently used goes first, and a read counts as use', () => {
    const cache = new ChunkCache<Uint8Array>(30);
    for (const key of ['a', 'b', 'c']) cache.set(key, new Uint8Array(10));
    cache.get('a');
    cache.set('d', new Uint8Array(10));
    expect(['a', 'b', 'c', 'd'].filter(key => cache.get(key))).toEqual(['a', 'c', 'd']);
  });

  test('what is larger than the budget is not kept and drives nothing out', () => {
    const cache = new ChunkCache<Uint8Array>(30);
    cache.set('a', new Uint8Array(20));
    cache.set('b', new Uint8Array(31));
    expect(cache.get('a')).toBeDefined();
    expect(cache.get('b')).toBeUndefined();
  });

  test('a prefix drops its own keys only', () => {
    const cache = new ChunkCache<Uint8Array>(100);
    for (const key of ['s1/a/0', 's1/b/0', 's10/a/0']) cache.set(key, new Uint8Array(10));
    cache.deleteUnder('s1/');
    expect(cache.usedBytes).toBe(10);
    expect(cache.get('s10/a/0')).toBeDefined();
  });

  // source: a plain list of the keys in order of use, searched again every time
  test('agrees with a list for any sequence of acts, and never exceeds its budget', () => {
    const act = fc.tuple(fc.constantFrom('set', 'get', 'delete'), fc.integer({ min: 0, max: 6 }), fc.nat({ max: 40 }));
    fc.assert(
      fc.property(fc.array(act, { maxLength: 60 }), acts => {
        const cache = new ChunkCache<Uint8Array>(60);
        let list: { key: string; size: number }[] = [];
        for (const [kind, n, size] of acts) {
          const key = String(n);
          const old = list.find(item => item.key === key);
          if (kind !== 'get' || old) list = list.filter(item => item.key !== key);
          if (kind === 'set') {
            cache.set(key, new Uint8Array(size));
            list.push({ key, size });
            while (list.reduce((sum, item) => sum + item.size, 0) > 60) list.shift();
          } else if (kind === 'delete') cache.delete(key);
          else {
            expect(cache.get(key)?.length).toBe(old?.size);
            if (old) list.push(old);
          }
          expect(cache.usedBytes).toBe(list.reduce((sum, item) => sum + item.size, 0));
        }
      }),
      { seed: 11 },
    );
  });
});
