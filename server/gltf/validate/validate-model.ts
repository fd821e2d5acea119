import { validateBytes, version } from 'gltf-validator';
import type { ValidatorResult } from '../../core/product/survey.ts';

/** The validator's own report, as far as it is used here. */
export interface ValidatorReport {
  readonly issues: {
    readonly numErrors: number;
    readonly numWarnings: number;
    readonly numInfos: number;
    readonly numHints: number;
    readonly messages: readonly { code: string; severity: number; message: string; pointer?: string }[];
  };
}

/** Messages kept with a survey; a broken export can have one for every accessor. */
const KEPT_MESSAGES = 100;

/**
 * The Khronos glTF validator's word on a whole file.
 * It rejects instead of reporting when it cannot recognise its input; that becomes a result with one error.
 */
export async function validateModel(bytes: Uint8Array): Promise<ValidatorResult> {
  try {
    return toResult((await validateBytes(bytes, { maxIssues: 1000, writeTimestamp: false })) as ValidatorReport);
  } catch (error) {
    const message = {
      code: 'VALIDATOR_FAILED',
      severity: 0 as const,
      message: String(error).slice(0, 300),
      pointer: '',
    };
    return { version: version(), errors: 1, warnings: 0, infos: 0, hints: 0, messages: [message] };
  }
}

/** @param kept how many messages, the worst first */
export function toResult({ issues }: ValidatorReport, kept = KEPT_MESSAGES): ValidatorResult {
  const messages = issues.messages.map(({ code, severity, message, pointer }) => ({
    code,
    severity: severity as 0 | 1 | 2 | 3,
    message,
    pointer: pointer ?? '',
  }));
  messages.sort((a, b) => a.severity - b.severity);
  return {
    version: version(),
    errors: issues.numErrors,
    warnings: issues.numWarnings,
    infos: issues.numInfos,
    hints: issues.numHints,
    messages: messages.slice(0, kept),
  };
}
