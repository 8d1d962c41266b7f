import { commands } from './commands';
import { serveTasks, threadCommand } from './many/threads';
import { runCli } from './run';

const asThread = threadCommand();
if (asThread !== null) serveTasks(commands[asThread]!.load);
else {
  const write = (text: string) => process.stderr.write(text);
  process.exitCode = await runCli(
    process.argv.slice(2),
    {
      print: text => process.stdout.write(`${text}\n`),
      note: text => write(`note: ${text}\n`),
      doubt: text => write(`note: ${text}\n`),
      fail: text => write(`error: ${text}\n`),
    },
    // Threads do not read TypeScript: from the sources one file follows the other.
    import.meta.url.endsWith('.ts') ? null : new URL(import.meta.url),
  );
}
