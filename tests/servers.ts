import { type ChildProcess, type SpawnOptions, spawn } from 'node:child_process';

/** What was started and has not been ended. */
const running = new Set<ChildProcess>();

/**
 * Starts a program that serves tests. It ends with `endServer`, and with this process however that
 * is stopped: npx has children of its own, which outlive it, so all of its group is ended.
 */
export function startServer(
  command: string,
  args: readonly string[],
  options: Pick<SpawnOptions, 'cwd' | 'env' | 'stdio'>,
): ChildProcess {
  if (running.size === 0) {
    process.once('exit', endAll);
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, stopped);
  }
  const server = spawn(command, args, { stdio: 'ignore', ...options, detached: process.platform !== 'win32' });
  running.add(server);
  return server;
}

export function endServer(server: ChildProcess): void {
  running.delete(server);
  try {
    process.kill(process.platform === 'win32' ? server.pid! : -server.pid!);
  } catch {
    // It has ended by itself.
  }
}

function endAll(): void {
  for (const server of running) endServer(server);
}

function stopped(): void {
  process.exit(1);
}
