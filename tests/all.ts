// npm test: all that must hold, in the order that keeps every core busy. Types, lint and the build come first, as nothing
// else is worth its time while one of them fails. The unit tests then run from beginning to end on what the others leave:
// servers and browsers spend a fifth of their time waiting.
import { type ChildProcess, spawn } from 'node:child_process';
import { writeFileSync, writeSync } from 'node:fs';
import { constants, setPriority } from 'node:os';
import { join } from 'node:path';

interface Step {
  readonly name: string;
  readonly command: string;
  readonly low?: boolean;
}

const root = join(import.meta.dirname, '..');
/** What runs, each with what it has said that is not printed yet. */
const running = new Map<ChildProcess, Buffer[]>();
/** Steps that failed, each with what it said. */
const failed = new Map<string, Buffer>();

const checks: Step[] = ['types', 'lint', 'build'].map(name => ({ name, command: `npm run -s ${name}` }));
const unit: Step = { name: 'unit', command: 'npm run -s unit', low: true };
const besides: Step[] = [
  { name: 'remote', command: 'npm run -s remote' },
  { name: 'engines', command: 'npm run -s engines -- firefox webkit' },
];
const browser: Step = { name: 'browser', command: 'npm run -s browser' };

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, stop);

const start = Date.now();
await Promise.all(checks.map(quietly));
if (failed.size === 0) {
  const units = quietly(unit);
  await Promise.all(besides.map(quietly));
  await live(browser);
  await units;
}
// Once more at the end, which is what is left of long output where that is cut.
for (const [name, said] of failed) if (said.length > 0) console.log(`\n${name} had said:\n${said.subarray(-10_000)}`);
console.log(failed.size > 0 ? `failed: ${[...failed.keys()].join(', ')}` : `all passed in ${secondsSince(start)} s`);
process.exit(failed.size > 0 ? 1 : 0);

/** Runs a step and prints what it said when it has ended: lines of several at once cannot be read. */
function quietly(step: Step): Promise<void> {
  const said: Buffer[] = [];
  const child = started(step, 'pipe', said);
  child.stdout!.on('data', (part: Buffer) => void said.push(part));
  child.stderr!.on('data', (part: Buffer) => void said.push(part));
  return ended(step, child);
}

/** Runs a step whose lines are printed as they come. */
function live(step: Step): Promise<void> {
  return ended(step, started(step, 'inherit', []));
}

function started(step: Step, output: 'pipe' | 'inherit', said: Buffer[]): ChildProcess {
  // A session of its own: the kernel weighs sessions against each other, and niceness counts within one only.
  const detached = process.platform !== 'win32';
  const child = spawn(step.command, { cwd: root, shell: true, stdio: ['ignore', output, output], detached });
  running.set(child, said);
  if (step.low && child.pid) giveWay(child.pid);
  return child;
}

async function ended(step: Step, child: ChildProcess): Promise<void> {
  const start = Date.now();
  const how = await new Promise<string>(resolve => {
    child.on('error', error => resolve(`failed (${error.message})`));
    child.on('close', (code, signal) => resolve(code === 0 ? 'passed' : `failed (${signal ?? code})`));
  });
  const said = Buffer.concat(running.get(child)!);
  process.stdout.write(said);
  running.delete(child);
  console.log(`${step.name}: ${how} after ${secondsSince(start)} s`);
  if (how !== 'passed') failed.set(step.name, said);
}

function secondsSince(start: number): string {
  return ((Date.now() - start) / 1000).toFixed(0);
}

/** Lets what else runs go first, where the system has a word for it; not so far that nothing of it moves. */
function giveWay(pid: number): void {
  const niceness = constants.priority.PRIORITY_BELOW_NORMAL;
  try {
    setPriority(pid, niceness);
    writeFileSync(`/proc/${pid}/autogroup`, String(niceness));
  } catch {
    // Other systems know niceness alone, or nothing.
  }
}

/** Ends what was started, with all that it started, and prints what it had said. */
function stop(): never {
  for (const child of running.keys()) {
    try {
      process.kill(process.platform === 'win32' ? child.pid! : -child.pid!);
    } catch {
      // It has ended by itself.
    }
  }
  try {
    for (const said of running.values()) writeSync(1, Buffer.concat(said));
  } finally {
    process.exit(1);
  }
}
