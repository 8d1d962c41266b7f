/** What went wrong and what to do about it, in one line. */
export function errorMessage(error: unknown): string {
  const { message, remedy = '' } = error as Error & { remedy?: string };
  return message.includes(remedy) ? message : `${message} ${remedy}`;
}
