import { type ComponentType, useEffect } from 'react';
import { fetchCommands } from '../commands/in-force';
import type { App } from '../state/app';
import { screenFromHash } from '../state/stores/ui-store';
import { AppContext, useApp, usePart } from './app-context';
import { fetched } from './controls/fetched';
import { PassphraseSheet } from './controls/passphrase';
import { RaterGate } from './controls/rater-code';
import { Start } from './start/start';

const screen = <Props extends object>(load: () => Promise<ComponentType<Props>>) =>
  fetched(load, <main className="start" aria-busy="true" />);

// Only the first page comes with the page itself: each other screen is fetched when it is opened.
const ReviewScreen = screen(withKeys(async () => (await import('./review/review-screen')).ReviewScreen));
const PracticeScreen = screen(withKeys(async () => (await import('./practice/practice')).PracticeScreen));
const Compare = screen(withKeys(async () => (await import('./compare/compare')).Compare));
const StudyScreen = screen(async () => (await import('./study/study')).StudyScreen);
const LabStoreScreen = screen(async () => (await import('./lab-store/lab-store')).LabStoreScreen);
const ReportScreen = screen(async () => (await import('./report/report')).ReportScreen);
const HelpSheets = fetched(async () => (await import('./help/help-sheets')).HelpSheets);
const ImportSheet = fetched(async () => (await import('./import/import-sheet')).ImportSheet);

/** A screen with keys of its own shows only once they are here: no key pressed on it is lost. */
function withKeys<T>(screen: () => Promise<T>): () => Promise<T> {
  return async () => (await Promise.all([screen(), fetchCommands()]))[0];
}

export function Page({ app }: { app: App }) {
  return (
    <AppContext value={app}>
      <Theme />
      <Screens />
      <Help />
      <Import />
      <PassphraseSheet />
    </AppContext>
  );
}

/** The address decides the screen; leaving a review closes its workspace. */
function Screens() {
  const app = useApp();
  const screen = usePart(app.ui, s => s.screen);
  useEffect(() => {
    const follow = () => app.ui.setState({ screen: screenFromHash(location.hash), dialog: null });
    follow();
    window.addEventListener('hashchange', follow);
    return () => window.removeEventListener('hashchange', follow);
  }, [app]);
  const reading = usePart(app.importing.store, s => s.reading?.session.id ?? null);
  if (screen.name === 'review') {
    const early = reading === screen.sessionId;
    return (
      <RaterGate>
        <ReviewScreen key={`${screen.sessionId}${early ? '/early' : ''}`} {...screen} />
      </RaterGate>
    );
  }
  if (screen.name === 'practice' && screen.task.length === 0) return <PracticeScreen key="" path={[]} />;
  if (screen.name === 'practice')
    return (
      <RaterGate>
        <PracticeScreen key={screen.task.join('/')} path={screen.task} />
      </RaterGate>
    );
  if (screen.name === 'compare')
    return (
      <RaterGate>
        <Compare key={screen.sessionId} sessionId={screen.sessionId} />
      </RaterGate>
    );
  if (screen.name === 'lab-store') return <LabStoreScreen />;
  if (screen.name === 'study') return <StudyScreen studyId={screen.studyId} />;
  if (screen.name === 'report')
    return (
      <RaterGate>
        <ReportScreen key={screen.sessionId} id={screen.sessionId} />
      </RaterGate>
    );
  return <Start />;
}

function Help() {
  const app = useApp();
  const dialog = usePart(app.ui, s => s.dialog);
  return dialog === 'help' || dialog === 'self-check' ? <HelpSheets /> : null;
}

/** Over any screen; out of the way while a recording that is still being read is on the screen. */
function Import() {
  const app = useApp();
  const screen = usePart(app.ui, s => s.screen);
  const stage = usePart(app.importing.store, s => s.stage);
  const reading = usePart(app.importing.store, s => s.reading?.session.id ?? null);
  const inReview = screen.name === 'review' && screen.sessionId === reading;
  return stage === 'none' || (stage === 'reading' && inReview) ? null : <ImportSheet />;
}

function Theme() {
  const app = useApp();
  const theme = usePart(app.prefs, p => p.theme);
  const largeText = usePart(app.prefs, p => p.largeText);
  useEffect(() => {
    const root = document.documentElement;
    if (theme === 'system') delete root.dataset['theme'];
    else root.dataset['theme'] = theme;
    root.classList.toggle('large-text', largeText);
  }, [theme, largeText]);
  return null;
}
