import type { SampleIndex, Span } from '../units';
import type { Dismissal, Note, SignOff } from './edit';

/** An entry of version 1, which had some of its facts as sentences. It is upgraded on reading (see upgradeEntry). */
export interface OldEntry {
  readonly version?: undefined;
  readonly seq: number;
  readonly at: string;
  readonly recording: string;
  readonly intent:
    | 'accept'
    | 'move'
    | 'delete'
    | 'insert'
    | 'unreadable'
    | 'readable'
    | 'comment'
    | 'flag'
    | 'dismiss'
    | 'look'
    | 'sign off'
    | 'reopen'
    | 'settle'
    | 'finish'
    | 'restart';
  readonly change: readonly OldOperation[];
  readonly undoes?: number;
  readonly redoes?: number;
  readonly reason?: string;
  readonly origin?: string;
  readonly previous: string;
  readonly hash: string;
}

export type OldNote = Omit<Note, 'kind' | 'recorder'> & { readonly kind: 'comment' | 'flag' };

export type OldOperation =
  | { readonly op: 'marks'; readonly removed: readonly SampleIndex[]; readonly added: readonly SampleIndex[] }
  | {
      readonly op: 'unreadable' | 'accepted' | 'seen';
      readonly removed: readonly Span[];
      readonly added: readonly Span[];
    }
  | { readonly op: 'note'; readonly before: OldNote | null; readonly after: OldNote | null }
  | { readonly op: 'dismissal'; readonly before: Dismissal | null; readonly after: Dismissal | null }
  | { readonly op: 'signOff'; readonly before: SignOff | null; readonly after: SignOff | null };
