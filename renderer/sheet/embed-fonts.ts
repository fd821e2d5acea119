import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

let written: Promise<string> | undefined;

/** Weights the sheets are set in: titles, text, names. */
const WEIGHTS = [300, 400, 600] as const;

/**
 * The face of the sheets as rules of CSS that hold the font files themselves, one for each weight and script; a printed file
 * takes up only the letters it needs. The files are static: of a variable one the browser prints letters as Type 3 fonts,
 * which a printer's preflight refuses.
 */
export function embedFonts(): Promise<string> {
  written ??= readFaces();
  written.catch(() => {
    written = undefined;
  });
  return written;
}

async function readFaces(): Promise<string> {
  const { resolve } = createRequire(import.meta.url);
  return (
    await Promise.all(WEIGHTS.map((weight) => readFace(resolve(`@fontsource/source-sans-3/${weight}.css`))))
  ).join('');
}

async function readFace(path: string): Promise<string> {
  const rules = (await readFile(path, 'utf8'))
    .replace(/\/\*.*?\*\//gs, '')
    .replace(/, url\([^)]*\.woff\) format\('woff'\)/g, '');
  const files = [...rules.matchAll(/url\(\.\/(files\/[\w.-]+\.woff2)\)/g)].map(([, file]) => file!);
  const bytes = await Promise.all(files.map((file) => readFile(join(dirname(path), file))));
  return files.reduce(
    (css, file, i) => css.replace(`url(./${file})`, `url(data:font/woff2;base64,${bytes[i]!.toString('base64')})`),
    rules,
  );
}
