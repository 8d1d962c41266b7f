import { once } from 'node:events';
import { createWriteStream, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { toAnnotations } from '../../src/formats/edf/annotations';
import { edfFile } from '../../src/formats/edf/writer';
import { longRecording } from './long-recording';

/**
 * Writes a long simulated recording as EDF+ and its true beats beside it:
 *
 *     npx tsx tests/bench/make-long.ts --hours 24 --rate 1000 --leads 3 --out /tmp/x.edf [--marks]
 *
 * gives /tmp/x.edf and /tmp/x.beats.csv (one column `sample`). With --marks the beats are in the EDF+ as annotations too.
 */
const { values } = parseArgs({
  options: {
    hours: { type: 'string', default: '24' },
    rate: { type: 'string', default: '1000' },
    leads: { type: 'string', default: '3' },
    out: { type: 'string' },
    marks: { type: 'boolean', default: false },
  },
});
if (!values.out) throw new Error('say where to write: --out FILE.edf');

const { recording, leads, beats } = longRecording(Number(values.hours), Number(values.rate), Number(values.leads));
const annotations = values.marks ? toAnnotations(beats, [], recording.samplingRateHz) : [];
const file = await edfFile({ recording, leads, annotations, participant: 'V00' });
const stream = createWriteStream(values.out);
for await (const block of file.blocks()) if (!stream.write(block)) await once(stream, 'drain');
stream.end();
await once(stream, 'finish');
writeFileSync(values.out.replace(/\.edf$/, '.beats.csv'), `sample\n${beats.join('\n')}\n`);
console.log(`${values.out}: ${(file.byteLength / 1e6).toFixed(0)} MB, ${beats.length} beats`);
