import { Unzip, UnzipInflate } from 'fflate';
import type { ByteSource } from '../bytes/source';
import { joinBytes } from '../zip/writer';
import { type LoneLog, readLoneLog } from './logs';
import { textLimits } from './reader';

const pieceBytes = 1 << 16;

/**
 * The reviews in a bundle that was cut off, say by a download that broke down: a bundle begins with its logs, and of a log
 * the entries before the cut are whole. Empty when the file holds none. Reads no further than the logs go.
 */
export async function salvageLogs(source: ByteSource): Promise<readonly LoneLog[]> {
  const texts: Uint8Array[][] = [];
  let beyond = false;
  let bytes = 0;
  const zip = new Unzip(file => {
    if (!file.name.startsWith('logs/')) {
      beyond = true;
      return;
    }
    const parts: Uint8Array[] = [];
    texts.push(parts);
    file.ondata = (error, data) => {
      bytes += data?.length ?? 0;
      if (!error && bytes <= textLimits.log) parts.push(data.slice());
    };
    file.start();
  });
  zip.register(UnzipInflate);
  try {
    for (let at = 0; at < source.size && !beyond && bytes <= textLimits.log; at += pieceBytes) {
      const end = Math.min(source.size, at + pieceBytes);
      zip.push((await source.read(at, end)).slice(), end === source.size);
    }
  } catch {
    // The end of a file that was cut off is no end of its last entry; what came before counts.
  }
  const logs = texts.map(parts => readLoneLog(new TextDecoder().decode(joinBytes(parts))));
  return logs.flatMap(found => (found && found.log.entries.length > 0 ? found : []));
}
