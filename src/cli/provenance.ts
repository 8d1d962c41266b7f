import { existsSync, writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import { appName, appVersion } from '../core/report/version';
import { csvMetadata, csvMetadataName } from '../formats/csv/metadata';
import { type CliCommand, type Flag, type Given, textFlag, UsageError } from './command';
import type { FindingsLog } from './findings';

export const provenanceFlag: Readonly<Record<string, Flag>> = {
  provenance: {
    value: 'FILE',
    about: 'writes what the output was made from as JSON: files with checksums, settings, doubts, version',
  },
};

/** Flags that say where and how, not what. */
const aside = new Set(['force', 'json', 'out', 'jobs', 'again', 'provenance']);

/** What the output of a command was made from, beside its findings: program, files with SHA-256 in hex, and flags. */
export function madeFrom(command: CliCommand, { flags }: Given, found: FindingsLog) {
  const settings = Object.entries(flags)
    .filter(([name]) => !aside.has(name))
    .map(([name, value]) => [name, typeof value === 'string' && namesFile(command, name) ? basename(value) : value]);
  return {
    writtenBy: `${appName} ${appVersion}`,
    command: command.name,
    files: found.files,
    settings: Object.fromEntries(settings) as Record<string, string | true>,
  };
}

const namesFile = ({ flags }: CliCommand, name: string) => /^(FILE|CSV)$/.test(flags[name]?.value ?? '');

/** The same with what was understood, doubtful and left out, as metadata of the table `url`. */
export function metadataOf(command: CliCommand, given: Given, found: FindingsLog, url: string | null): string {
  return csvMetadata(url, { ...madeFrom(command, given, found), ...found.all });
}

/**
 * Writes the file that --provenance names; called before anything is printed, and never over a file. A name like
 * `d.csv-metadata.json` says which table it is about.
 */
export function writeProvenance(command: CliCommand, given: Given, found: FindingsLog): void {
  const path = textFlag(given, 'provenance');
  if (path === undefined) return;
  if (existsSync(path)) throw new UsageError(`${path} is there already: --provenance writes over no file`);
  const name = basename(path);
  const table = name.slice(0, -csvMetadataName('').length);
  const url = table !== '' && name === csvMetadataName(table) ? table : null;
  writeFileSync(path, metadataOf(command, given, found, url), { flag: 'wx' });
}
