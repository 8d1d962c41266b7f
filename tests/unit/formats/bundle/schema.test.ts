import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { schemaText } from '../../../../src/cli/schema';
import { appVersion } from '../../../../src/core/report/version';
import { textLimits } from '../../../../src/formats/bundle/reader';
import { manifestSchema } from '../../../../src/formats/bundle/schema';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { zipLimits } from '../../../../src/formats/zip/directory';
import { madeSession } from './reviewed';

const root = join(import.meta.dirname, '../../../..');
const text = (path: string) => readFileSync(join(root, path), 'utf8');

test('the published JSON Schema is the one made from the code', () => {
  expect(JSON.parse(text('public/schema/session-bundle-3.json'))).toEqual(JSON.parse(schemaText()));
});

test('the published schema speaks of every key that a written manifest has', () => {
  const made = madeSession();
  const bytes = unzipSync(writeBundle(made.reviewed, made.leads))['manifest.json']!;
  const manifest = JSON.parse(new TextDecoder().decode(bytes));
  const schema = JSON.parse(text('public/schema/session-bundle-3.json'));
  expect(schema.required.toSorted()).toEqual(Object.keys(manifest).toSorted());
  const recording = schema.properties.recordings.items;
  expect(recording.required.toSorted()).toEqual(Object.keys(manifest.recordings[0]).toSorted());
  expect(recording.additionalProperties).toBe(false);
  const log = new TextDecoder().decode(unzipSync(writeBundle(made.reviewed, made.leads))['logs/R1.jsonl']!).split('\n');
  expect(schema.$defs.logHeader.required.toSorted()).toEqual(Object.keys(JSON.parse(log[0]!)).toSorted());
  expect(schema.$defs.logEntry.required.toSorted()).toEqual(Object.keys(JSON.parse(log[1]!)).toSorted());
  expect(manifestSchema.safeParse(manifest).success).toBe(true);
});

test('the limits in the description are those of the code', () => {
  const words = text('public/schema/session-bundle.md').replace(/\s+/g, ' ');
  expect(words).toContain(`more than ${zipLimits.maxEntries} entries`);
  expect(words).toContain(`more than ${zipLimits.maxTotalBytes / 2 ** 30} GiB unpacked`);
  expect(words).toContain(`more than ${zipLimits.ratioFromBytes / 2 ** 20} MiB and ${zipLimits.maxRatio} times`);
  expect(words).toContain(`a manifest over ${textLimits.manifest / 2 ** 20} MiB`);
  expect(words).toContain(`marks over ${textLimits.detected / 2 ** 20} MiB`);
  expect(words).toContain(`a log over ${textLimits.log / 2 ** 20} MiB`);
});

test('the version written into files is that of package.json', () => {
  expect(JSON.parse(text('package.json')).version).toBe(appVersion);
});
