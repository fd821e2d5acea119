/** The files of a model in parts, or why they are not one model. */
export type PackagePlan<T> =
  | { readonly files: readonly { readonly path: string; readonly given: T }[] }
  | { readonly missing: readonly string[] };

interface Given {
  readonly path: string;
}

/**
 * Finds the files that a `.gltf` refers to (glTF 2.0, 5.9 and 5.18: `uri` of buffers and images, relative to the file). Paths
 * that fit exactly come first, then those that fit without regard to case, then a single file of that name in any folder: people
 * often drop the textures without their folder.
 * @param json the parsed `.gltf`
 * @param own its path among the given files
 * @returns the files with the paths that the `.gltf` uses, or the paths that nothing fits
 */
export function planPackage<T extends Given>(json: unknown, own: T, given: readonly T[]): PackagePlan<T> {
  const uris = listUris(json);
  const [folder, name] = splitPath(own.path);
  // paths of a zip must not leave it: a file dropped without the folders above it gets stand-ins
  const above = Math.max(0, ...uris.map((uri) => resolveDots(folder + uri).above));
  const place = 'model/'.repeat(above) + folder;
  const files = [{ path: place + name, given: own }];
  const missing: string[] = [];
  for (const uri of uris) {
    const found = findFile(resolveDots(folder + uri).path, given);
    if (found) files.push({ path: resolveDots(place + uri).path, given: found });
    else missing.push(uri);
  }
  return missing.length > 0 ? { missing } : { files };
}

/** Files that a `.gltf` needs beside itself: without data URLs, each once, decoded. */
export function listUris(json: unknown): string[] {
  const { buffers, images } = (json ?? {}) as { readonly buffers?: unknown; readonly images?: unknown };
  const uris = [buffers, images]
    .flatMap((list) => (Array.isArray(list) ? list : []))
    .map((entry) => (entry as { readonly uri?: unknown } | null)?.uri)
    .filter((uri): uri is string => typeof uri === 'string' && !/^data:/i.test(uri));
  return [...new Set(uris.map(decode))];
}

function decode(uri: string): string {
  try {
    return decodeURIComponent(uri);
  } catch {
    return uri;
  }
}

function findFile<T extends Given>(wanted: string, given: readonly T[]): T | undefined {
  const fold = (text: string) => text.normalize('NFC').toLowerCase();
  const named = given.filter(({ path }) => fold(splitPath(path)[1]) === fold(splitPath(wanted)[1]));
  return (
    given.find(({ path }) => path === wanted) ??
    given.find(({ path }) => fold(path) === fold(wanted)) ??
    (named.length === 1 ? named[0] : undefined)
  );
}

/** A path without `.` and `..`, and how many folders it leads above its beginning. */
function resolveDots(given: string): { readonly path: string; readonly above: number } {
  const parts: string[] = [];
  let above = 0;
  for (const part of given.split('/')) {
    if (part === '..' && parts.pop() === undefined) above++;
    if (part !== '..' && part !== '.') parts.push(part);
  }
  return { path: parts.join('/'), above };
}

/** The folder with its slash, and the name. */
function splitPath(path: string): readonly [folder: string, name: string] {
  const end = path.lastIndexOf('/') + 1;
  return [path.slice(0, end), path.slice(end)];
}
