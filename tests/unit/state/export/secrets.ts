import { unzipSync } from 'fflate';
import type { Handling } from '../../../../src/core/review/privacy/identifying';
import type { ExportFile } from '../../../../src/state/export/exporting';
import { fileSha256, times } from './marked';

/** Every option ticked. */
export const nothing: Handling = { dates: 'drop', sources: 'drop', codes: 'drop', names: 'drop', remarks: 'drop' };

const latin1 = (part: Uint8Array) => Buffer.from(part).toString('latin1');

/** Name and every byte of a file, those of a zip unpacked as well, and of the zips in it. */
function textsOf(name: string, bytes: Uint8Array): string[] {
  const inside = name.endsWith('.zip') ? Object.entries(unzipSync(bytes)) : [];
  return [name, latin1(bytes), ...inside.flatMap(([path, part]) => textsOf(path, part))];
}

/** Markers, times and checksums of files that stand anywhere in these. */
export async function secretsIn(files: readonly ExportFile[]): Promise<{ file: string; secret: string }[]> {
  const out: { file: string; secret: string }[] = [];
  for (const { name, blob } of files) {
    const texts = textsOf(name, new Uint8Array(await blob.arrayBuffer()));
    for (const secret of [...times, fileSha256.slice(0, 8), 'utcOffset']) {
      if (texts.some(t => t.includes(secret))) out.push({ file: name, secret });
    }
    for (const text of texts) for (const [secret] of text.matchAll(/Qzx\d+/g)) out.push({ file: name, secret });
  }
  return out;
}
