import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { UsageError } from '../command';
import { apache } from './apache';
import { nginx } from './nginx';
import { runningProcess, type ServerEngine, type StorePlaces, stopProcess } from './places';

const engines: readonly ServerEngine[] = [apache, nginx];

/** What a store was started with last, so that its people can be changed and it can be stopped by its folder alone. */
interface Started {
  readonly engine: ServerEngine['name'];
  readonly places: StorePlaces;
}

const startedFile = (root: string) => join(root, 'etc/started.json');

export function engineNamed(name: string): ServerEngine {
  const found = engines.find(e => e.name === name);
  if (!found) throw new UsageError(`there is no engine ${name}; there are ${engines.map(e => e.name).join(', ')}`);
  return found;
}

export async function startEngine(engine: ServerEngine, places: StorePlaces): Promise<void> {
  await engine.start(places);
  const started: Started = { engine: engine.name, places };
  writeFileSync(startedFile(places.root), `${JSON.stringify(started, null, 1)}\n`);
}

/** Null when the store in this folder does not run. */
export function runningEngine(root: string): { readonly engine: ServerEngine; readonly places: StorePlaces } | null {
  if (!existsSync(startedFile(root))) return null;
  const started = JSON.parse(readFileSync(startedFile(root), 'utf8')) as Started;
  const engine = engineNamed(started.engine);
  return runningProcess(engine.pidFile(root)) === null ? null : { engine, places: started.places };
}

/** False when nothing runs. */
export async function stopEngine(root: string): Promise<boolean> {
  const running = runningEngine(root);
  if (!running) return false;
  await stopProcess(runningProcess(running.engine.pidFile(root))!);
  return true;
}
