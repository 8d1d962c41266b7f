import { createRoot } from 'react-dom/client';
import { listen } from './commands/listener';
import { allCommands, sceneOf } from './commands/scenes';
import { createApp } from './state/app';
import { createLibrary } from './state/library';
import { watchUpdates } from './state/updates';
import { Page } from './views/page';
import './views/paper.css';
import './views/page.css';

const app = createApp(createLibrary());
listen(app, allCommands, () => sceneOf(app));
await app.prefs.load();
createRoot(document.getElementById('page')!).render(<Page app={app} />);
watchUpdates(app);
