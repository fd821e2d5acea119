/** A file and its path in the folder that was dropped; for a file dropped alone, its name. */
export interface DroppedFile {
  readonly path: string;
  readonly file: File;
}

/** A folder with more files is no model, and reading it would take minutes. */
const MOST_FILES = 2000;

/**
 * The files of a drop, those inside folders included. Hidden files, such as those that file managers add, are left out.
 * Call it before the event ends: its entries are gone afterwards.
 */
export async function readDrop(data: DataTransfer): Promise<DroppedFile[]> {
  const entries = [...data.items]
    .filter(({ kind }) => kind === 'file')
    .map((item) => item.webkitGetAsEntry?.() ?? null);
  const files = [...data.files];
  if (entries.some((entry) => entry === null)) return files.map((file) => ({ path: file.name, file }));
  const found: DroppedFile[] = [];
  for (const entry of entries) await collect(entry!, '', found);
  return found;
}

/** The files chosen in a file field. */
export function readChosen(files: FileList | null): DroppedFile[] {
  return [...(files ?? [])].map((file) => ({ path: file.webkitRelativePath || file.name, file }));
}

async function collect(entry: FileSystemEntry, folder: string, found: DroppedFile[]): Promise<void> {
  if (found.length >= MOST_FILES || entry.name.startsWith('.')) return;
  const path = folder + entry.name;
  if (entry.isFile) {
    const file = await new Promise<File>((resolve, reject) => (entry as FileSystemFileEntry).file(resolve, reject));
    found.push({ path, file });
  } else if (entry.isDirectory) {
    for (const child of await listChildren(entry as FileSystemDirectoryEntry)) await collect(child, `${path}/`, found);
  }
}

/** A reader gives its entries in parts, and an empty part at the end. */
async function listChildren(folder: FileSystemDirectoryEntry): Promise<FileSystemEntry[]> {
  const reader = folder.createReader();
  const all: FileSystemEntry[] = [];
  for (;;) {
    const part = await new Promise<FileSystemEntry[]>((resolve, reject) => reader.readEntries(resolve, reject));
    if (part.length === 0) return all;
    all.push(...part);
  }
}
