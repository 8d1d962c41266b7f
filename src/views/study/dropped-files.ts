import type { ChosenFile } from '../../state/study/files';

/** Files of a choice, with the folders a folder's choice has. */
export function chosenFiles(files: Iterable<File>): ChosenFile[] {
  return [...files].map(file => ({ file, path: file.webkitRelativePath || file.name }));
}

/** Everything that was dropped, folders looked through; in no order. */
export async function droppedFiles(transfer: DataTransfer): Promise<ChosenFile[]> {
  // Entries are only there until the event is over, so all are taken before the first wait.
  const entries = [...transfer.items].flatMap(item => item.webkitGetAsEntry() ?? []);
  if (entries.length === 0) return chosenFiles(transfer.files);
  return (await Promise.all(entries.map(filesUnder))).flat();
}

async function filesUnder(entry: FileSystemEntry): Promise<ChosenFile[]> {
  const path = entry.fullPath.replace(/^\//, '');
  if (entry.isFile) return [{ path, file: await fileOf(entry as FileSystemFileEntry) }];
  const reader = (entry as FileSystemDirectoryEntry).createReader();
  const found: ChosenFile[] = [];
  // A reader answers in portions; an empty one is the end.
  for (;;) {
    const portion = await new Promise<FileSystemEntry[]>((resolve, reject) => reader.readEntries(resolve, reject));
    if (portion.length === 0) return found;
    for (const files of await Promise.all(portion.map(filesUnder))) found.push(...files);
  }
}

function fileOf(entry: FileSystemFileEntry): Promise<File> {
  return new Promise((resolve, reject) => entry.file(resolve, reject));
}
