import type { App } from '../../state/app';
import type { LessonWorkspace } from '../../state/practice/practice';
import { createStripModel } from '../review/strip-model';
import type { StripModel } from '../strip-chart/model';

/** The strip of a review with the places pointed out: those of hints, and all when the lesson is done. */
export function createLessonModel(workspace: LessonWorkspace, app: App): () => StripModel {
  const plain = createStripModel(workspace, app);
  return () => {
    const pointers = workspace.practice.pointers();
    return { recorders: plain().recorders.map(r => ({ ...r, pointers })) };
  };
}
