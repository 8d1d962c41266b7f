import { createRoot } from 'react-dom/client';
import { commandsInForce } from './commands/in-force';
import { listen } from './commands/listener';
import { sceneOf } from './commands/scene-now';
import { watchBackups } from './state/backup/backup';
import { watchFolder } from './state/backup/watch';
import { createApp } from './state/create-app';
import { watchFailures } from './state/failures';
import { createLibrary } from './state/library';
import { prefsInTime } from './state/prefs-in-time';
import { watchLabStore } from './state/sharing/watch';
import { watchUpdates } from './state/updates';
import { CrashBoundary } from './views/controls/crash-boundary';
import { ensureValidLanguage } from './views/controls/valid-language';
import { Page } from './views/page';
import './views/paper.css';
import './views/page.css';
import './views/review/review.css';

ensureValidLanguage();
const app = createApp(createLibrary());
listen(app, commandsInForce, () => sceneOf(app));
watchFailures(app);
watchBackups(app);
watchFolder(app);
watchLabStore(app);
await prefsInTime(app);
createRoot(document.getElementById('page')!).render(
  <CrashBoundary app={app}>
    <Page app={app} />
  </CrashBoundary>,
);
watchUpdates(app);
