import { runCommand } from '../run';
import { labStoreCommand } from './lab-store';

process.env['PATH'] = `${process.env['PATH']}:/usr/sbin:/sbin`;
process.exitCode = await runCommand(labStoreCommand, process.argv.slice(2), {
  print: text => process.stdout.write(`${text}\n`),
  note: text => process.stderr.write(`note: ${text}\n`),
  doubt: text => process.stderr.write(`note: ${text}\n`),
  fail: text => process.stderr.write(`error: ${text}\n`),
});
