import type { ReactNode } from 'react';
import { whyReadOnly } from '../../commands/perform';
import { type Built, isRefusal } from '../../core/review/edits';
import type { ReviewWorkspace } from '../../state/review/workspace';
import { Sheet } from './dialog';

interface RefusedSheetProps {
  readonly title: string;
  readonly why: string;
  readonly onClose: () => void;
  readonly children?: ReactNode;
}

/** In place of a sheet that writes, where nothing can be written: said before anything is typed that would be lost. */
export function RefusedSheet({ title, why, onClose, children }: RefusedSheetProps) {
  return (
    <Sheet title={title} onClose={onClose}>
      <div className="sheet-body">
        <p>{why}</p>
        {children}
      </div>
    </Sheet>
  );
}

/** Why a sheet cannot write what it is for, as a sentence; null when it can. */
export function refusalOf(workspace: ReviewWorkspace, built: Built = null): string | null {
  const readOnly = whyReadOnly(workspace);
  if (readOnly !== null) return `Nothing can be changed now: ${readOnly}.`;
  return isRefusal(built) ? built.refused : null;
}
