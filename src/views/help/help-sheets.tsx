import { useApp, usePart } from '../app-context';
import { HelpDialog } from './help';
import { SelfCheckDialog } from './self-check';

/** The sheets of help, which need no open recording. */
export function HelpSheets() {
  const app = useApp();
  const dialog = usePart(app.ui, s => s.dialog);
  if (dialog === 'help') return <HelpDialog />;
  if (dialog === 'self-check') return <SelfCheckDialog />;
  return null;
}
