import { commands } from './commands';
import { serveTasks, threadCommand } from './many/threads';
import { runCli } from './run';

const asThread = threadCommand();
if (asThread !== null) serveTasks(commands[asThread]!.load);
else {
  // Whoever reads, as `head` does, may have had enough: no error, and the code that a shell has for it.
  for (const stream of [process.stdout, process.stderr]) {
    stream.on('error', (error: NodeJS.ErrnoException) => {
      if (error.code !== 'EPIPE') throw error;
      process.exit(128 + 13);
    });
  }
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
