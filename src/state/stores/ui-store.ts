import { createStore } from 'zustand/vanilla';

/** Which screen is shown; kept in the address after `#/` so that reload and the back button work. */
export type Screen =
  | { readonly name: 'start' }
  /** `recordingId`: the recorder to take current; where there is none, the one that was current last. */
  | { readonly name: 'review'; readonly sessionId: string; readonly recordingId?: string }
  | { readonly name: 'compare'; readonly sessionId: string }
  /** `task`: what is practised, as parts of the address; empty for choosing. */
  | { readonly name: 'practice'; readonly task: readonly string[] }
  /** One study; none chosen when the id is empty. */
  | { readonly name: 'study'; readonly studyId: string }
  | { readonly name: 'lab-store' }
  | { readonly name: 'report'; readonly sessionId: string };

export type Dialog =
  | 'help'
  | 'self-check'
  | 'go to'
  | 'comment'
  | 'flag'
  | 'export'
  | 'settings'
  | 'sign off'
  | 'reopen'
  | 'finish'
  | 'import'
  | 'segments'
  | 'clock'
  | 'guidance'
  | 'supervisor'
  | 'settle with reason'
  | 'spot check'
  | 'sample'
  | 'rater code'
  | 'not sinus kind';

/** Something that needs the person: stays until dismissed, never covers the strip. */
export interface Notice {
  readonly id: number;
  readonly text: string;
  readonly kind: 'needs you' | 'done';
  /** What can be done about it at once. */
  readonly action: NoticeAction | null;
  /** Stays as long as what it says holds: it cannot be put away. */
  readonly lasting: boolean;
}

export interface NoticeAction {
  readonly title: string;
  /** The command that does the same, for the key to be named. */
  readonly command?: string;
  readonly run: () => void;
}

export interface UiState {
  readonly screen: Screen;
  readonly dialog: Dialog | null;
  /** How many sheets closed because they did what they were asked. */
  readonly sheetsDone: number;
  readonly notices: readonly Notice[];
  /** One line about the last act, shown where the keys are; e.g. a refusal with its reason. */
  readonly said: string;
  /** A locked file waiting for its passphrase. */
  readonly question: Question | null;
  /** Long work in progress, newest last. */
  readonly jobs: readonly Job[];
  /** Nothing outlives this tab: the browser lets the page store nothing. */
  readonly memoryOnly: boolean;
}

export interface Question {
  readonly file: string;
  /** Why it is asked again; '' the first time. */
  readonly wrong: string;
  /** Null gives up. */
  readonly answer: (passphrase: string | null) => void;
}

export interface Job {
  readonly id: number;
  readonly title: string;
  /** 0 to 1; null when it is not known. */
  readonly share: number | null;
  readonly secondsLeft: number | null;
  readonly cancel: (() => void) | null;
}

/** One line about the last act. */
export interface StatusLine {
  status(said: string): void;
}

export interface Notices {
  /** Answers the notice's id; one with the same words stands only once. */
  notify(text: string, kind?: Notice['kind'], action?: NoticeAction | null, lasting?: boolean): number;
  dismiss(...ids: number[]): void;
}

export interface Jobs {
  startJob(title: string, cancel?: (() => void) | null): JobHandle;
}

export interface Dialogs {
  openDialog(dialog: Dialog | null): void;
  /** Closes the sheet that did what it was asked: a second click or Enter on it is held back. */
  sheetDone(): void;
}

export interface PassphrasePrompt {
  askPassphrase(file: string, wrong: string): Promise<string | null>;
}

export type UiParts = StatusLine & Notices & Jobs & Dialogs;

/** What a function needs of the page's shell, e.g. `HasUi<Notices & Jobs>`. */
export interface HasUi<Part> {
  readonly ui: Part;
}

export type UiStore = ReturnType<typeof createUiStore>;

let nextId = 1;

export function createUiStore() {
  const store = createStore<UiState>(() => ({
    screen: { name: 'start' },
    dialog: null,
    sheetsDone: 0,
    notices: [],
    said: '',
    question: null,
    jobs: [],
    memoryOnly: false,
  }));
  const set = store.setState;
  let asked: Promise<unknown> = Promise.resolve();
  const ask = (file: string, wrong: string) =>
    new Promise<string | null>(resolve => {
      const answer = (passphrase: string | null) => {
        set({ question: null });
        resolve(passphrase);
      };
      set({ question: { file, wrong, answer } });
    });
  return {
    ...store,
    openDialog: (dialog: Dialog | null) => set({ dialog }),
    sheetDone: () => set(s => ({ dialog: null, sheetsDone: s.sheetsDone + 1 })),
    status: (said: string) => set({ said }),
    /** Answers the notice's id; one with the same words stands only once. */
    notify(
      text: string,
      kind: Notice['kind'] = 'needs you',
      action: NoticeAction | null = null,
      lasting = false,
    ): number {
      const { notices } = store.getState();
      const known = notices.find(n => n.text === text);
      if (known) return known.id;
      const id = nextId++;
      set({ notices: [...notices, { id, text, kind, action, lasting }] });
      return id;
    },
    /** One question at a time: a second one waits for the answer to the first. */
    askPassphrase(file: string, wrong: string): Promise<string | null> {
      const answered = asked.then(() => ask(file, wrong));
      asked = answered;
      return answered;
    },
    dismiss: (...ids: number[]) => set(s => ({ notices: s.notices.filter(n => !ids.includes(n.id)) })),
    startJob(title: string, cancel: (() => void) | null = null): JobHandle {
      const job: Job = { id: nextId++, title, share: null, secondsLeft: null, cancel };
      set(s => ({ jobs: [...s.jobs, job] }));
      const change = (part: Partial<Job>) =>
        set(s => ({ jobs: s.jobs.map(j => (j.id === job.id ? { ...j, ...part } : j)) }));
      return {
        progress: (share, secondsLeft = null) => change({ share, secondsLeft }),
        end: () => set(s => ({ jobs: s.jobs.filter(j => j.id !== job.id) })),
      };
    },
  };
}

export interface JobHandle {
  progress(share: number | null, secondsLeft?: number | null): void;
  end(): void;
}

export function screenFromHash(hash: string): Screen {
  const [name = '', ...task] = hash.replace(/^#\/?/, '').split('/').map(decoded);
  const id = task[0] ?? '';
  if (name === 'review' && id && task[1]) return { name, sessionId: id, recordingId: task[1] };
  if ((name === 'review' || name === 'compare' || name === 'report') && id) return { name, sessionId: id };
  if (name === 'practice') return { name, task: task.filter(part => part !== '') };
  if (name === 'study') return { name, studyId: id };
  if (name === 'lab-store') return { name };
  return { name: 'start' };
}

/** An address typed or cut off by hand may hold half an escape: such a part stands for itself. */
function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

export function hashOfScreen(screen: Screen): string {
  if (screen.name === 'start') return '#/';
  if (screen.name === 'lab-store') return '#/lab-store';
  if (screen.name === 'practice') return ['#/practice', ...screen.task.map(encodeURIComponent)].join('/');
  if (screen.name === 'study') return screen.studyId ? `#/study/${encodeURIComponent(screen.studyId)}` : '#/study';
  const recorder = screen.name === 'review' && screen.recordingId ? [screen.recordingId] : [];
  return ['#', screen.name, ...[screen.sessionId, ...recorder].map(encodeURIComponent)].join('/');
}
