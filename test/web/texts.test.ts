import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { FINDINGS } from '../../server/core/product/finding.ts';
import { findLiteralTexts } from '../support/find-literal-texts.ts';
import { readTexts } from '../support/read-texts.ts';
import { listRetiredWords } from '../support/retired-words.ts';

// The texts of the pages are in plain English. All are in web/texts, except those for browsers without JavaScript.

const WEB = fileURLToPath(new URL('../../web/', import.meta.url));

/** Phrases that messages of the service may use, but labels and sentences of the pages need not. */
const RETIRED_ON_PAGES = [
  /\bwhat (?:is|are|was|it|they|comes|came|would|stands|has) /i,
  /\bleave it\b/i,
  /\bcome out\b/i,
  /\bis no (?:\.|[a-z]+ ?[:;.])/i,
  /\bfurther\b/i,
  /\bwould do\b/i,
];

/** API terms, internals and typing errors. */
const INTERNAL = [
  /\b(?:GET|POST|PUT|PATCH|DELETE) \//,
  /\/api\//,
  /\b[a-z]+=(?!=)/i,
  /(?<![#\w])[0-9a-f]{7,}\b/,
  /(?:^|[\s“"(])\/[a-z]+\/\d/i,
  / {2}/,
  / \.(?!\w)|\.\.|,,| ,/,
  /undefined|\bnull\b|NaN|\[object/,
  /(?<![\w.–-])1 (?!(?:is|has|was|this|its|needs|remains)\b)[a-z]+s\b/,
  /(?<![\w.–-])[02] (?:combination|delivery|file|finding|finish|hour|line|map|material|minute|part|picture|piece|product|row|slot|triangle|variant)\b/,
];

describe('the texts of the pages', async () => {
  const texts = await readTexts();
  const codes = Object.keys(FINDINGS).filter((code) => code.includes('-'));
  const find = (isWrong: (text: string) => boolean) =>
    texts.filter(({ text }) => isWrong(text)).map(({ where, text }) => `${where}: ${text}`);

  it('are read', () => {
    expect(texts.length).toBeGreaterThan(400);
    expect(texts.find(({ where }) => where === 'finishes.ts: summary(1)')?.text).toMatch(/^1 finish\. /);
    expect(texts.find(({ where }) => where === 'index.html: noscript')?.text).toMatch(/JavaScript/);
  });

  it('have no retired word', () => {
    expect(find((text) => listRetiredWords(text).length > 0)).toEqual([]);
  });

  it.each(RETIRED_ON_PAGES)('have no phrase that pages do without: %s', (phrase) => {
    expect(find((text) => phrase.test(text))).toEqual([]);
  });

  it.each(INTERNAL)('have no API term, internal value or wrong plural: %s', (pattern) => {
    expect(find((text) => pattern.test(text))).toEqual([]);
  });

  it('name no finding by its code', () => {
    expect(find((text) => codes.some((code) => text.includes(code)))).toEqual([]);
  });
});

describe('the sources of the pages', () => {
  const sources = readdirSync(WEB, { recursive: true, encoding: 'utf8' })
    .filter((path) => /\.tsx?$/.test(path) && !path.startsWith('texts/') && !path.endsWith('vite.config.ts'))
    .sort();

  it('are found', () => {
    expect(sources).toContain('pages/product/product-page.tsx');
    expect(sources).toContain('parts/shell.tsx');
  });

  it.each(sources)('hold no text that belongs in web/texts: %s', (path) => {
    expect(findLiteralTexts(readFileSync(WEB + path, 'utf8'), path.endsWith('x') ? 'tsx' : 'ts')).toEqual([]);
  });

  it('would be reported with a literal text', () => {
    const source = `
      const error = 'Save the form first.';
      const view = (
        <Field name="Two words" inline>
          <input name="key" class="small soft" aria-label="Name" value={\`ΔE00 \${n} mm\`} />
          Some text {isOpen ? 'open' : key} ΔE00 {n} mm
        </Field>
      );`;
    expect(findLiteralTexts(source, 'tsx')).toEqual([
      '2: Save the form first.',
      '4: Two words',
      '5: Name',
      '5: Some text',
      '6: open',
    ]);
  });
});
