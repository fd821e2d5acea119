import { copyFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { listFindings } from '../actions/check-product.ts';
import { deliver } from '../actions/deliver.ts';
import { loadProduct } from '../actions/load-product.ts';
import { judge } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { readArguments, readChoice } from './arguments.ts';
import { printJson } from './output.ts';
import { replaceFile } from './replace-file.ts';
import { formatFindings, INPUTS, RESULT_TEXTS } from './texts.ts';
import { type Surroundings, WORK_OPTIONS, workOnProduct } from './workshop.ts';

const OPTIONS = {
  ...WORK_OPTIONS,
  output: { type: 'string', short: 'o', required: true },
  names: { type: 'string' },
} as const;

/** `dyeworks deliver model.glb --finishes … --schedule … -o out.glb`: 0 when written, 1 when findings block. */
export async function deliverCommand(args: readonly string[], surroundings: Surroundings): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], OPTIONS);
  const names = readChoice('names', options.names, ['name', 'code']) ?? 'name';
  const targetPath = resolve(String(options.output));
  return workOnProduct(files[0]!, options, surroundings, async (context, code) => {
    const findings = await listFindings(context, await loadProduct(context, code));
    if (judge(findings) === 'blocked') {
      if (options.json) printJson({ path: null, findings: groupFindings(findings) });
      else for (const line of formatFindings(findings)) console.log(line);
      return 1;
    }
    const { manifest } = await deliver(context, code, { names });
    const { sha256, bytes } = manifest.file;
    await replaceFile(targetPath, (partPath) => copyFile(context.files.getPath(sha256), partPath));
    if (options.json) {
      printJson({ path: targetPath, ...manifest });
      return 0;
    }
    for (const line of formatFindings(manifest.findings)) console.log(line);
    for (const { check, passed, detail } of manifest.checks) console.log(RESULT_TEXTS.check(passed, check, detail));
    console.log(RESULT_TEXTS.delivered(targetPath, manifest.variants.length, bytes, sha256));
    return 0;
  });
}
