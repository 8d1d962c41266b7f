import { runCli } from './run';

process.exitCode = await runCli(process.argv.slice(2), {
  print: text => process.stdout.write(`${text}\n`),
  note: text => process.stderr.write(`note: ${text}\n`),
  fail: text => process.stderr.write(`error: ${text}\n`),
});
