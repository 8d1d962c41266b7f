import { createRoot } from 'react-dom/client';
import type { Command } from './commands/command';
import { listen } from './commands/listener';
import { pageCommands } from './commands/page-commands';
import { sceneOf } from './commands/scene-now';
import { watchBackups } from './state/backup/backup';
import { watchFolder } from './state/backup/watch';
import { createApp } from './state/create-app';
import { watchFailures } from './state/failures';
import { createLibrary } from './state/library';
import { watchUpdates } from './state/updates';
import { CrashBoundary } from './views/controls/crash-boundary';
import { Page } from './views/page';
import './views/paper.css';
import './views/page.css';
import './views/review/review.css';

const app = createApp(createLibrary());
// The keys of a review come with its screen.
let commands: readonly Command[] = pageCommands;
app.workspace.subscribe(async ({ workspace }) => {
  if (workspace && commands === pageCommands) commands = (await import('./commands/scenes')).allCommands;
});
listen(
  app,
  () => commands,
  () => sceneOf(app),
);
watchFailures(app);
watchBackups(app);
watchFolder(app);
await app.prefs.load();
createRoot(document.getElementById('page')!).render(
  <CrashBoundary app={app}>
    <Page app={app} />
  </CrashBoundary>,
);
watchUpdates(app);
