import { type ComparisonWorkspace, isComparison } from '../../state/compare/comparing';
import { useWorkspace } from '../app-context';

/** The workspace of the comparison on the screen. */
export function useComparison(): ComparisonWorkspace {
  const workspace = useWorkspace();
  if (!isComparison(workspace)) throw new Error('used outside a comparison');
  return workspace;
}
