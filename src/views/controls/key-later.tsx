import { fetched } from './fetched';

/** The key of a command where the commands may not be here yet: its place stays empty until they are. */
export const KeyCapLater = fetched(async () => (await import('./key')).KeyCap);
