import { useApp, usePart } from '../app-context';
import { ClockDialog } from '../clock/clock-dialog';
import { ExportDialog } from '../export/export-dialog';
import { NotSinusKindDialog } from '../not-sinus/kind-dialog';
import { SampleDialog } from '../sample/sample-dialog';
import { GoToDialog } from './go-to';
import { GuidanceDialog } from './guidance';
import { RaterCodeDialog } from './rater-code';
import { RemarkDialog } from './remark';
import { SegmentsDialog } from './segments';
import { SettingsDialog } from './settings';
import { FinishDialog, ReopenDialog, SignOffDialog } from './sign-off';

/** The one sheet of an open recording, if any; those of help are the page's. */
export function DialogHost() {
  const app = useApp();
  const dialog = usePart(app.ui, s => s.dialog);
  switch (dialog) {
    case 'go to':
      return <GoToDialog />;
    case 'comment':
    case 'flag':
      return <RemarkDialog kind={dialog} />;
    case 'sign off':
      return <SignOffDialog />;
    case 'reopen':
      return <ReopenDialog />;
    case 'finish':
      return <FinishDialog />;
    case 'settings':
      return <SettingsDialog />;
    case 'export':
      return <ExportDialog />;
    case 'segments':
      return <SegmentsDialog />;
    case 'clock':
      return <ClockDialog />;
    case 'sample':
      return <SampleDialog />;
    case 'rater code':
      return <RaterCodeDialog />;
    case 'not sinus kind':
      return <NotSinusKindDialog />;
    case 'guidance':
      return <GuidanceDialog />;
    default:
      return null;
  }
}
