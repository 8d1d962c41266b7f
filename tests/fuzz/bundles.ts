import { unzipSync, zipSync } from 'fflate';
import { sha256Hex } from '../../src/core/marks/log';
import { checkBundle, checkStudy } from '../../src/formats/bundle/check';
import { readReviewFile, reviewFile } from '../../src/formats/bundle/review-file';
import { writeStudy } from '../../src/formats/bundle/study';
import { writeBundle } from '../../src/formats/bundle/writer';
import { bytesSource } from '../../src/formats/bytes/source';
import { FormatError } from '../../src/formats/format-error';
import { madeSession } from '../unit/formats/bundle/reviewed';
import type { FuzzTarget } from './target';

const made = madeSession(['R1', 'R2'], 3);
const bundle = writeBundle(made.reviewed, made.leads);
const parts = unzipSync(bundle);
const decode = (bytes: Uint8Array) => new TextDecoder().decode(bytes);

/** Opens a bundle and unpacks all of it; what the check says of a file it cannot open counts as the refusal it was. */
async function openWhole(bytes: Uint8Array): Promise<unknown> {
  const { bundle: opened, problems } = await checkBundle(bytesSource('fuzz', bytes));
  if (opened) return opened;
  throw new FormatError('fuzz', 'bundle', 'whole', problems.join(' '), 'None.');
}

/** The bundle with one of its parts replaced, and a manifest that lists it as it is: damage that no checksum tells. */
function withPart(path: string, bytes: Uint8Array): Uint8Array {
  const files = { ...parts, [path]: bytes };
  if (path !== manifestPath) {
    const manifest = JSON.parse(decode(parts[manifestPath]!)) as { files: Record<string, unknown> };
    manifest.files[path] = { bytes: bytes.length, sha256: sha256Hex(bytes) };
    files[manifestPath] = new TextEncoder().encode(JSON.stringify(manifest));
  }
  return zipSync(files, { level: 0 });
}

const manifestPath = 'manifest.json';

function partTarget(name: string, path: string): FuzzTarget {
  return {
    name,
    seeds: [parts[path]!],
    read: async source => openWhole(withPart(path, await source.read(0, source.size))),
  };
}

/** Session and study bundles and review files: damaged as files, and part by part behind sums that are right. */
export async function bundleTargets(): Promise<FuzzTarget[]> {
  const path = (beginning: string) => Object.keys(parts).find(p => p.startsWith(beginning))!;
  const session = { ...made.reviewed.session, id: 'V01' };
  const oneOf = { id: 'day', title: 'Day', sessions: ['V01'], settings: session.settings };
  const study = await writeStudy({ ...oneOf, namingPattern: '', segmentTemplate: ['run'], protocol: '' }, () =>
    writeBundle({ session, logs: [] }, made.leads),
  );
  const studyParts = unzipSync(study);
  return [
    {
      name: 'session bundle',
      seeds: [bundle],
      read: async source => openWhole(await source.read(0, source.size)),
    },
    partTarget('manifest of a bundle', manifestPath),
    partTarget('review in a bundle', path('logs/')),
    partTarget('marks in a bundle', path('recordings/chest-band/detected')),
    {
      name: 'review file',
      seeds: [reviewFile(made.reviewed.logs[0]!).bytes],
      read: async source => readReviewFile('fuzz', decode(await source.read(0, source.size))),
    },
    { name: 'study bundle', seeds: [study], read: source => checkStudy(source) },
    {
      name: 'list in a study bundle',
      seeds: [studyParts['study.json']!],
      read: async source => {
        const files = { ...studyParts, 'study.json': await source.read(0, source.size) };
        return checkStudy(bytesSource('fuzz', zipSync(files, { level: 0 })));
      },
    },
  ];
}
