import type { SentState } from '../../state/sharing/lab-store';

/** How a review stands in the lab's store: a second word beside 'saved', never in its place. */
export function sentWords(sent: SentState | undefined): string {
  if (!sent) return 'not sent yet';
  if (sent.state === 'sending') return 'sending …';
  if (sent.state === 'sent') return `sent, ${sent.entries} ${sent.entries === 1 ? 'entry' : 'entries'}`;
  return `not sent: ${sent.why}`;
}
