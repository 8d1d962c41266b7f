import { basename } from 'node:path';
import { amount } from '../core/amount';
import type { OpenedBundle } from '../formats/bundle/reader';
import { overlapping } from '../formats/text/segments';
import { type Given, type Output, UsageError } from './command';
import { checksumOf } from './files';

/** What a command understood of its input files, what is doubtful about that, and what it left out. */
export interface Findings {
  readonly understood: readonly string[];
  readonly doubts: readonly string[];
  readonly dropped: readonly string[];
}

/** A file that a command read. */
export interface ReadFile {
  readonly name: string;
  readonly format: string;
  /** Of the file as it is, in hex. */
  readonly sha256: string;
}

export const strictFlag = {
  strict: { about: 'ends with exit code 2 and writes nothing when anything was doubtful or left out' },
};

/** Gathers the findings of all files that a command reads, and prints each to stderr as it comes. */
export class FindingsLog {
  private readonly found = { understood: new Set<string>(), doubts: new Set<string>(), dropped: new Set<string>() };

  private readonly read: { readonly path: string; readonly format: string }[] = [];

  constructor(private readonly output: Output) {}

  addFile(path: string, format: string): void {
    if (!this.read.some(r => r.path === path && r.format === format)) this.read.push({ path, format });
  }

  /** In the order read. Checksums are taken when they are asked for. */
  get files(): readonly ReadFile[] {
    return this.read.map(({ path, format }) => ({ name: basename(path), format, sha256: checksumOf(path) }));
  }

  /** `of`: the file that they are about, where a command takes several. */
  add(findings: Partial<Findings>, of: string | null = null): void {
    const words = { doubts: 'doubtful', dropped: 'left out' } as const;
    for (const kind of ['understood', 'doubts', 'dropped'] as const) {
      for (const said of findings[kind] ?? []) {
        const text = of === null ? said : `${of}: ${said}`;
        if (this.found[kind].has(text)) continue;
        this.found[kind].add(text);
        if (kind === 'understood') this.output.note(`understood: ${text}`);
        else this.output.doubt(`${words[kind]}: ${text}`);
      }
    }
  }

  /** What a bundle has wrong, and what was doubtful or left out when its recordings were imported. */
  addBundle({ warnings, reviewed }: Pick<OpenedBundle, 'warnings' | 'reviewed'>, of: string | null = null): void {
    this.add({ doubts: warnings }, of);
    for (const { recording, segments } of reviewed.session.recordings) {
      const words = overlapping(segments).map(
        ([a, b]) => `${recording.id}: segments ${a.name} and ${b.name} overlap: the total counts that part twice`,
      );
      this.add({ doubts: words }, of);
      const imported = (texts: readonly string[] = []) => texts.map(text => `${recording.id}, when imported: ${text}`);
      this.add({ doubts: imported(recording.origin?.doubts), dropped: imported(recording.origin?.leftOut) }, of);
    }
  }

  /** For the person, of no consequence for what was read. */
  note(text: string): void {
    this.output.note(text);
  }

  get all(): Findings {
    const { understood, doubts, dropped } = this.found;
    return { understood: [...understood], doubts: [...doubts], dropped: [...dropped] };
  }

  /** Throws a UsageError when --strict was given and something was doubtful or left out. */
  refuseIfStrict({ flags }: Given): void {
    const { doubts, dropped } = this.found;
    if (flags['strict'] !== true || doubts.size + dropped.size === 0) return;
    throw new UsageError(`--strict: ${amount(doubts.size, 'doubt')} and ${amount(dropped.size, 'thing')} left out`);
  }
}
