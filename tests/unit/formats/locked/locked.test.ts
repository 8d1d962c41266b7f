import { createCipheriv, createDecipheriv, hkdfSync, pbkdf2Sync } from 'node:crypto';
import { afterEach, beforeAll, describe, expect, test, vi } from 'vitest';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { FormatError } from '../../../../src/formats/format-error';
import { isLocked, lockBlocks, unlockSource, WrongPassphrase } from '../../../../src/formats/locked/locked';

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
let lockedOnce: Promise<Uint8Array> | undefined;
/** The plain bytes locked, once for all tests: each of them fails when that fails, which a hook before all would hide. */
const lockedPlain = () => {
  lockedOnce ??= lock(plain);
  return lockedOnce;
};

/** Stretching a passphrase takes most of the time here: each is stretched once for each salt and number of rounds. */
const stretched = new Map<string, unknown>();
function once<T>(key: readonly unknown[], make: () => T): T {
  const name = JSON.stringify(key);
  if (!stretched.has(name)) stretched.set(name, make());
  return stretched.get(name) as T;
}

beforeAll(() => {
  const { subtle } = crypto;
  const importKey = subtle.importKey.bind(subtle) as (...args: readonly unknown[]) => Promise<CryptoKey>;
  const deriveBits = subtle.deriveBits.bind(subtle);
  const typed = new WeakMap<CryptoKey, readonly number[]>();
  vi.spyOn(subtle, 'importKey').mockImplementation(async (...args: readonly unknown[]) => {
    const key = await importKey(...args);
    if (args[2] === 'PBKDF2') typed.set(key, [...(args[1] as Uint8Array)]);
    return key;
  });
  vi.spyOn(subtle, 'deriveBits').mockImplementation((by, key, length) => {
    if ((by as Pbkdf2Params).name !== 'PBKDF2') return deriveBits(by, key, length);
    const { salt, iterations } = by as Pbkdf2Params;
    const words = typed.get(key)!;
    return once(['page', words, [...(salt as Uint8Array)], iterations], () => deriveBits(by, key, length));
  });
});

/** Keys of a file by its description (public/schema/locked-bundle.md), with the ciphers of Node's own OpenSSL. */
function keysBy(words: string, salt: Uint8Array, rounds: number) {
  const master = once(['Node', words, [...salt], rounds], () =>
    pbkdf2Sync(words.normalize('NFKC'), salt, rounds, 32, 'sha256'),
  );
  const derive = (info: string, size: number) => Buffer.from(hkdfSync('sha256', master, '', info, size));
  return { check: derive('locked bundle, check', 16), body: derive('locked bundle, body', 32) };
}

/** A file as another program may write it after the description: other rounds, other chunks. */
function lockedElsewhere(content: Uint8Array, rounds: number, width: number): Uint8Array {
  const header = Buffer.alloc(68);
  header.write('LEDGLOCK', 'latin1');
  for (const [i, value] of [1, rounds, width].entries()) header.writeUInt32LE(value, 8 + 4 * i);
  for (let i = 20; i < 43; i++) header[i] = 7 * i;
  const keys = keysBy(passphrase, header.subarray(20, 36), rounds);
  keys.check.copy(header, 44);
  const parts: Uint8Array[] = [header];
  const last = Math.max(0, Math.ceil(content.length / width) - 1);
  for (let index = 0; index <= last; index++) {
    const nonce = Buffer.concat([header.subarray(36, 43), Buffer.from([0, 0, 0, index, index === last ? 1 : 0])]);
    const cipher = createCipheriv('aes-256-gcm', keys.body, nonce);
    cipher.setAAD(header);
    parts.push(
      cipher.update(content.subarray(index * width, (index + 1) * width)),
      cipher.final(),
      cipher.getAuthTag(),
    );
  }
  return new Uint8Array(Buffer.concat(parts));
}

afterEach(() => {
  vi.unstubAllGlobals();
});

describe('a locked file', () => {
  test.each([0, 1, mib, mib + 1])('of %i bytes comes back as it was', async size => {
    const source = await open(await lock(content(size)));
    expect(source.size).toBe(size);
    expect(Buffer.compare(await source.read(0, size), content(size))).toBe(0);
  });

  test('is known by its first bytes and can be read at any place', async () => {
    const locked = await lockedPlain();
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
    const locked = await lockedPlain();
    const again = await lock(plain);
    expect(Buffer.from(locked).includes(Buffer.from(plain.subarray(0, 16)))).toBe(false);
    expect(again.length).toBe(locked.length);
    expect(Buffer.compare(again.subarray(20, 200), locked.subarray(20, 200))).not.toBe(0);
  });

  // source: public/schema/locked-bundle.md
  test('opens by its description alone', async () => {
    const file = Buffer.from(await lockedPlain());
    const keys = keysBy(passphrase, file.subarray(20, 36), file.readUInt32LE(12));
    expect(keys.check.equals(file.subarray(44, 60))).toBe(true);
    const start = 68 + 2 * (mib + 16);
    const nonce = Buffer.concat([file.subarray(36, 43), Buffer.from([0, 0, 0, 2, 1])]);
    const decipher = createDecipheriv('aes-256-gcm', keys.body, nonce);
    decipher.setAAD(file.subarray(0, 68));
    decipher.setAuthTag(file.subarray(-16));
    const tail = Buffer.concat([decipher.update(file.subarray(start, -16)), decipher.final()]);
    expect(Buffer.compare(tail, plain.subarray(2 * mib))).toBe(0);
  });

  test.each([1 << 10, 1500, 1 << 24])('written elsewhere in chunks of %i bytes comes back as it was', async width => {
    const source = await open(lockedElsewhere(plain.subarray(0, 4000), 600_000, width));
    expect(source.size).toBe(4000);
    expect(Buffer.compare(await source.read(1000, 9999), plain.subarray(1000, 4000))).toBe(0);
  });

  test('does not open with another passphrase, and says that it is the passphrase', async () => {
    const locked = await lockedPlain();
    await expect(open(locked, 'rope, tent und Ol 7')).rejects.toThrow(WrongPassphrase);
    await expect(open(locked, '')).rejects.toThrow('This passphrase does not open kept.locked.');
  });

  test('opens however the letters were composed', async () => {
    const locked = await lockedPlain();
    await expect(open(locked, passphrase.normalize('NFD'))).resolves.toMatchObject({ size: plain.length });
  });

  test('that was cut is refused at once, at a chunk’s end too', async () => {
    const locked = await lockedPlain();
    for (const size of [locked.length - 1, 68 + 2 * (mib + 16), 68 + mib, 100]) {
      await expect(open(locked.subarray(0, size))).rejects.toThrow('the end of the file is missing or was changed.');
    }
    for (const size of [8, 67, 83]) await expect(open(locked.subarray(0, size))).rejects.toThrow('ends too early');
  });

  test('with a changed byte gives nothing of the chunk it is in', async () => {
    const locked = await lockedPlain();
    const changed = locked.slice();
    changed[68 + mib + 16 + 777]! ^= 1;
    const source = await open(changed);
    expect((await source.read(0, mib)).length).toBe(mib);
    await expect(source.read(mib, mib + 1)).rejects.toThrow(`byte ${68 + mib + 16}: bytes here were changed.`);
  });

  test('whose chunks changed places is found', async () => {
    const locked = await lockedPlain();
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
    const locked = await lockedPlain();
    const changed = locked.slice();
    changed[at] = value;
    await expect(open(changed)).rejects.toThrow(words);
  });

  test('names the file, the place and what to do where it is damaged', async () => {
    const locked = await lockedPlain();
    const refused = open(locked.subarray(0, locked.length - 1));
    await expect(refused).rejects.toBeInstanceOf(FormatError);
    await expect(refused).rejects.toMatchObject({
      file: 'kept.locked',
      place: `byte ${68 + 2 * (mib + 16)}`,
      remedy: expect.stringMatching(/Get the file again/),
    });
  });

  test('is refused with what to do where the browser has no ciphers', async () => {
    const locked = await lockedPlain();
    vi.stubGlobal('crypto', { getRandomValues: (bytes: Uint8Array) => bytes });
    const told = 'Locking needs a page served over https or from this computer';
    await expect(open(locked)).rejects.toThrow(told);
    await expect(lockBlocks([], passphrase).next()).rejects.toThrow(told);
  });

  test('needs a passphrase', async () => {
    await expect(lockBlocks([], '').next()).rejects.toThrow(RangeError);
  });
});
