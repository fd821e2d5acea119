import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, posix, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { listRetiredWords } from '../support/retired-words.ts';

/**
 * The documents name files, folders, functions and scripts that exist, and are in plain English. When you rename a
 * file, change its name in the documents as well.
 */
const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const DOCUMENTS = ['README.md', 'DEVELOPERS.md', 'server/DECISIONS.md', 'renderer/README.md'];

/** Made by a build, so not in the tree. */
const GENERATED = /^(\.build|\.dyeworks)\/|^NOTICE\.md$/;
const ROOM = /^(server|web|renderer|db|test)\//;
const FILE = /^[\w@.-]+(?:\/[\w@.-]+)*\.(?:tsx?|mjs|mts|css|html|md)$/;

const files = [
  ...DOCUMENTS,
  ...['server', 'web', 'renderer', 'db', 'test'].flatMap((room) =>
    readdirSync(join(ROOT, room), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => relative(ROOT, join(entry.parentPath, entry.name)).replaceAll('\\', '/')),
  ),
];

/** Spans in backticks, outside blocks of code. */
function listSpans(document: string): string[] {
  return [...document.replace(/^```[\s\S]*?^```/gm, '').matchAll(/`([^`]+)`/g)].map((match) => match[1]!);
}

/** What is wrong with a path that a document names; null when nothing is, or when the span is no path of the tree. */
function findPathProblem(document: string, span: string): string | null {
  if (GENERATED.test(span)) return null;
  if (span.endsWith('/') && (ROOM.test(span) || existsSync(join(ROOT, dirname(document), span)))) {
    const there = [span, posix.join(dirname(document), span)].some((folder) =>
      files.some((path) => path.startsWith(folder)),
    );
    return there ? null : `${document}: there is no folder ${span}`;
  }
  if (!FILE.test(span)) return null;
  if (files.includes(span) || files.includes(posix.join(dirname(document), span))) return null;
  const folder = dirname(document) === '.' ? '' : `${dirname(document)}/`;
  const found = files.filter((path) => path.startsWith(folder) && path.endsWith(`/${span}`));
  if (found.length === 1) return null;
  return `${document}: ${span} is ${found.length === 0 ? 'nowhere in the tree' : `ambiguous: ${found.join(', ')}`}`;
}

/** The text without code, links and quoted names, each replaced by a word that no pattern of retired words finds. */
function listProse(document: string): string[] {
  return document
    .replace(/^```[\s\S]*?^```/gm, '')
    .replace(/`[^`]+`/g, 'X')
    .split(/\n\s*\n|\n(?=[|#-]|\d+\. )/)
    .map((paragraph) => paragraph.replace(/\s+/g, ' ').trim())
    .filter(Boolean);
}

describe.each(DOCUMENTS)('%s', (path) => {
  const document = readFileSync(join(ROOT, path), 'utf8');

  it('names files and folders that exist', () => {
    expect(listSpans(document).flatMap((span) => findPathProblem(path, span) ?? [])).toEqual([]);
  });

  it('links to files that exist', () => {
    const links = [...document.matchAll(/\]\((?!https?:|#)([^)#]+)[^)]*\)/g)].map((match) => match[1]!);
    expect(links.filter((link) => !existsSync(join(ROOT, dirname(path), link)))).toEqual([]);
  });

  it('names functions, types and fields that the sources have', () => {
    const sources = files
      .filter((file) => /\.(tsx?|mjs)$/.test(file))
      .map((file) => readFileSync(join(ROOT, file), 'utf8'))
      .join('\n');
    const names = listSpans(document).filter((span) => /^[a-z]+[A-Z]\w*$|^[A-Z][a-z]+[A-Z]\w*$/.test(span));
    expect(names.filter((name) => !new RegExp(`\\b${name}\\b`).test(sources))).toEqual([]);
  });

  it('names npm scripts that exist', () => {
    const { scripts } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
      scripts: Record<string, string>;
    };
    const named = [...document.matchAll(/\bnpm run ([\w:-]+)/g)].map((match) => match[1]!);
    expect(named.filter((name) => !(name in scripts))).toEqual([]);
  });

  it('is in plain English', () => {
    const found = listProse(document).flatMap((text) => {
      const words = listRetiredWords(text);
      return words.length > 0 ? [`${words.join(', ')} in: ${text.slice(0, 120)}`] : [];
    });
    expect(found).toEqual([]);
  });
});

// each of these must be seen, or the checks above could never fail
describe('a wrong name is seen', () => {
  it.each(['server/core/no-such-file.ts', 'no-such-file.ts', 'worker.ts', 'server/no-such-room/'])('%s', (span) => {
    expect(findPathProblem('DEVELOPERS.md', span)).not.toBeNull();
  });

  it.each([
    'server/core/finish/finish.ts',
    'mapping-plan.ts',
    'server/core/',
    '.build/server',
    'picture.json',
    'keep.normal',
  ])('and a right one is not: %s', (span) => {
    expect(findPathProblem('DEVELOPERS.md', span)).toBeNull();
  });

  it('in prose, over line breaks', () => {
    expect(listProse('A part\nwears `told` a finish.\n\n```sh\ntold\n```\n')).toEqual(['A part wears X a finish.']);
  });
});
