import { createDecipheriv, hkdfSync, pbkdf2Sync } from 'node:crypto';
import { beforeAll, describe, expect, test } from 'vitest';
import { isLocked, lockBlocks, unlockSource, WrongPassphrase } from '../../../src/formats/locked';
import { bytesSource } from '../../../src/formats/source';

const passphrase = 'rope, tent und Öl 7';
const mib = 1 << 20;

/** Bytes that no two chunks share. */
function content(size: number): Uint8Array {
  return Uint8Array.from({ length: size }, (_, i) => (i * 31 + (i >> 12)) & 255);
}

async function lock(plain: Uint8Array, block = 300_000): Promise<Uint8Array> {
  const blocks = [];
  for (let at = 0; at < plain.length; at += block) blocks.push(plain.subarray(at, at + block));
  const parts = [];
  for await (const part of lockBlocks(blocks, passphrase)) parts.push(part);
  return new Uint8Array(Buffer.concat(parts));
}

const open = (bytes: Uint8Array, words = passphrase) => unlockSource(bytesSource('kept.locked', bytes), words);

const plain = content(2 * mib + 12_345);
let locked: Uint8Array;
beforeAll(async () => {
  locked = await lock(plain);
});

describe('a locked file', () => {
  test.each([0, 1, mib, mib + 1])('of %i bytes comes back as it was', async size => {
    const source = await open(await lock(content(size)));
    expect(source.size).toBe(size);
    expect(Buffer.compare(await source.read(0, size), content(size))).toBe(0);
  });

  test('is known by its first bytes and can be read at any place', async () => {
    expect(isLocked(locked)).toBe(true);
    expect(isLocked(plain)).toBe(false);
    const source = await open(locked);
    for (const [start, end] of [
      [0, 10],
      [mib - 5, mib + 5],
      [10, 2 * mib + 3],
      [2 * mib + 12_000, 2 * mib + 99_999],
    ] as const) {
      expect(Buffer.compare(await source.read(start, end), plain.subarray(start, end))).toBe(0);
    }
  });

  test('holds nothing of its contents in the open, and no two are alike', async () => {
    const again = await lock(plain);
    expect(Buffer.from(locked).includes(Buffer.from(plain.subarray(0, 16)))).toBe(false);
    expect(again.length).toBe(locked.length);
    expect(Buffer.compare(again.subarray(20, 200), locked.subarray(20, 200))).not.toBe(0);
  });

  // source: public/schema/locked-bundle.md, followed with the ciphers of Node's own OpenSSL
  test('opens by its description alone', () => {
    const file = Buffer.from(locked);
    const master = pbkdf2Sync(passphrase.normalize('NFKC'), file.subarray(20, 36), file.readUInt32LE(12), 32, 'sha256');
    const derive = (info: string, size: number) => Buffer.from(hkdfSync('sha256', master, '', info, size));
    expect(derive('locked bundle, check', 16).equals(file.subarray(44, 60))).toBe(true);
    const start = 68 + 2 * (mib + 16);
    const nonce = Buffer.concat([file.subarray(36, 43), Buffer.from([0, 0, 0, 2, 1])]);
    const decipher = createDecipheriv('aes-256-gcm', derive('locked bundle, body', 32), nonce);
    decipher.setAAD(file.subarray(0, 68));
    decipher.setAuthTag(file.subarray(-16));
    const tail = Buffer.concat([decipher.update(file.subarray(start, -16)), decipher.final()]);
    expect(Buffer.compare(tail, plain.subarray(2 * mib))).toBe(0);
  });

  test('does not open with another passphrase, and says that it is the passphrase', async () => {
    await expect(open(locked, 'rope, tent und Ol 7')).rejects.toThrow(WrongPassphrase);
    await expect(open(locked, '')).rejects.toThrow('This passphrase does not open kept.locked.');
  });

  test('opens however the letters were composed', async () => {
    await expect(open(locked, passphrase.normalize('NFD'))).resolves.toMatchObject({ size: plain.length });
  });

  test('that was cut is refused at once, at a chunk’s end too', async () => {
    for (const size of [locked.length - 1, 68 + 2 * (mib + 16), 68 + mib, 100]) {
      await expect(open(locked.subarray(0, size))).rejects.toThrow('the end of the file is missing or was changed.');
    }
    for (const size of [8, 67, 83]) await expect(open(locked.subarray(0, size))).rejects.toThrow('ends too early');
  });

  test('with a changed byte gives nothing of the chunk it is in', async () => {
    const changed = locked.slice();
    changed[68 + mib + 16 + 777]! ^= 1;
    const source = await open(changed);
    expect((await source.read(0, mib)).length).toBe(mib);
    await expect(source.read(mib, mib + 1)).rejects.toThrow(`byte ${68 + mib + 16}: bytes here were changed.`);
  });

  test('whose chunks changed places is found', async () => {
    const swapped = locked.slice();
    const [a, b, width] = [68, 68 + mib + 16, mib + 16];
    swapped.set(locked.subarray(b, b + width), a);
    swapped.set(locked.subarray(a, a + width), b);
    await expect((await open(swapped)).read(0, 1)).rejects.toThrow('bytes here were changed.');
  });

  test.each([
    [8, 9, 'newer version'],
    [14, 0, 'rounds are out of bounds'],
    [15, 255, 'rounds are out of bounds'],
    [19, 255, 'are out of bounds'],
    [0, 65, 'not a locked file'],
  ])('with byte %i of the header as %i is refused before any work', async (at, value, words) => {
    const changed = locked.slice();
    changed[at] = value;
    await expect(open(changed)).rejects.toThrow(words);
  });

  test('needs a passphrase', async () => {
    await expect(lockBlocks([], '').next()).rejects.toThrow(RangeError);
  });
});
