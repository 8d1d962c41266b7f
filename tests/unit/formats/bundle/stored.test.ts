import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { bundleFormatVersion, studyFormatVersion } from '../../../../src/formats/bundle/schema';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { lockedFormatVersion, unlockSource } from '../../../../src/formats/locked/locked';
import { bundleContents, studyContents } from '../../../stored/contents';
import { settledFacts } from '../../../stored/settled';
import { storedPassphrase } from '../../../stored/study';

const file = (name: string) => readFileSync(join(import.meta.dirname, '../../../stored', name));
const source = (name: string) => bytesSource(name, file(name));
const json = (name: string): unknown => JSON.parse(file(name).toString());
const versionsUpTo = (newest: number) => Array.from({ length: newest }, (_, i) => i + 1);

// source: what the version that wrote the file read in it, kept beside it
describe('a file that an older or this version has written holds exactly what it held then', () => {
  test.each(versionsUpTo(bundleFormatVersion))('session bundle of version %i', async version => {
    expect(await bundleContents(source(`bundle-${version}.zip`))).toEqual(json(`bundle-${version}.json`));
  });

  // Version 1 had settlements, spot checks, evidence and beats that are not sinus as sentences.
  test('settled session of version 1, whose facts are told apart by their types now', async () => {
    expect(await settledFacts(source('bundle-1-settled.zip'))).toEqual(json('bundle-1-settled.json'));
  });

  test.each(versionsUpTo(studyFormatVersion))('study bundle of version %i', async version => {
    expect(await studyContents(source(`study-${version}.zip`))).toEqual(json(`study-${version}.json`));
  });

  test.each(versionsUpTo(lockedFormatVersion))('locked bundle of version %i', async version => {
    const inside = await unlockSource(source(`locked-${version}.zip.locked`), storedPassphrase);
    expect(Buffer.compare(await inside.read(0, inside.size), file('bundle-1.zip'))).toBe(0);
    expect(await bundleContents(inside)).toEqual(json('bundle-1.json'));
  });
});
