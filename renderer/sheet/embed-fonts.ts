import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

let written: Promise<string> | undefined;

/**
 * The face of the sheets as rules of CSS that hold the font files themselves, one for each script; a printed file takes up
 * only the letters it needs.
 */
export function embedFonts(): Promise<string> {
  written ??= readFaces();
  written.catch(() => {
    written = undefined;
  });
  return written;
}

async function readFaces(): Promise<string> {
  const path = createRequire(import.meta.url).resolve('@fontsource-variable/source-sans-3');
  const rules = await readFile(path, 'utf8');
  const files = [...new Set([...rules.matchAll(/url\(\.\/(files\/[\w.-]+\.woff2)\)/g)].map(([, file]) => file!))];
  const bytes = await Promise.all(files.map((file) => readFile(join(dirname(path), file))));
  return files.reduce(
    (css, file, i) => css.replaceAll(`url(./${file})`, `url(data:font/woff2;base64,${bytes[i]!.toString('base64')})`),
    rules.replace(/\/\*.*?\*\//gs, ''),
  );
}
