import { describe, expect, test } from 'vitest';
import { verifyChain } from '../../../../src/core/marks/log';
import { readBundle } from '../../../../src/formats/bundle/reader';
import {
  beginsAsReview,
  readReviewFile,
  reviewBeginningBytes,
  reviewFile,
} from '../../../../src/formats/bundle/review-file';
import { salvageLogs } from '../../../../src/formats/bundle/salvage';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { FormatError } from '../../../../src/formats/format-error';
import { madeSession } from './reviewed';

const made = madeSession(['R1', 'R2']);
const { logs } = made.reviewed;
const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes);

describe('a bundle that is cut off', () => {
  test.each([0, 6] as const)(
    'is refused at every length, and gives what is whole of its logs (level %i)',
    async level => {
      const bytes = writeBundle(made.reviewed, made.leads, { level });
      const found: number[] = [];
      for (let length = 0; length < bytes.length; length += 397) {
        const source = bytesSource('half.zip', bytes.subarray(0, length));
        await expect(readBundle(source)).rejects.toThrow(FormatError);
        const salvaged = await salvageLogs(source);
        for (const [i, { log }] of salvaged.entries()) {
          expect(verifyChain(log)).toEqual({ ok: true });
          expect(logs[i]!.entries.slice(0, log.entries.length)).toEqual(log.entries);
        }
        found.push(salvaged.reduce((n, { log }) => n + log.entries.length, 0));
      }
      expect(found).toEqual([...found].sort((a, b) => a - b));
      expect(found[0]).toBe(0);
      expect(found.at(-1)).toBe(logs.reduce((n, l) => n + l.entries.length, 0));
    },
  );

  test('without logs gives none', async () => {
    const bytes = writeBundle({ ...made.reviewed, logs: [] }, made.leads);
    expect(await salvageLogs(bytesSource('half.zip', bytes.subarray(0, bytes.length >> 1)))).toEqual([]);
    expect(
      await salvageLogs(
        bytesSource(
          'noise',
          Uint8Array.from({ length: 5000 }, (_, i) => i * 7),
        ),
      ),
    ).toEqual([]);
  });
});

describe('a review as a file of its own', () => {
  const { name, bytes } = reviewFile(logs[0]!);

  test('has the bytes of the log in the bundle, and comes back', () => {
    expect(name).toBe('V01-training-day-R1.jsonl');
    expect(beginsAsReview(bytes.subarray(0, reviewBeginningBytes))).toBe(true);
    expect(readReviewFile(name, text(bytes))).toEqual({ log: logs[0], wrong: null });
  });

  test('that is cut off gives the entries before the cut', () => {
    const { log, wrong } = readReviewFile(name, text(bytes.subarray(0, bytes.length - 40)));
    expect(log.entries).toEqual(logs[0]!.entries.slice(0, -1));
    expect(wrong).toContain('is not JSON');
  });

  test('that was changed gives the entries before the change', () => {
    const lines = text(bytes).split('\n');
    lines[3] = lines[3]!.replace(/"at":"[^"]+"/, '"at":"2001-01-01T00:00:00.000Z"');
    const { log, wrong } = readReviewFile(name, lines.join('\n'));
    expect(log.entries).toEqual(logs[0]!.entries.slice(0, 2));
    expect(wrong).toBeTruthy();
  });

  test('that is none is refused', () => {
    expect(beginsAsReview(new TextEncoder().encode('PK'))).toBe(false);
    expect(() => readReviewFile('x', '{"detected":{}}')).toThrow(FormatError);
  });
});
