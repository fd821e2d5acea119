import { existsSync, readFileSync } from 'node:fs';

/** What {@link needsNoSandbox} looks at. */
export interface SandboxSigns {
  /** Numeric user id of the process, undefined where there is none (Windows). */
  readonly uid: number | undefined;
  readonly inContainer: boolean;
  /** What the caller was told; undefined leaves it to the signs. */
  readonly told: boolean | undefined;
}

/**
 * Whether the browser has to start without its sandbox.
 *
 * Chromium refuses to start sandboxed as root. In a container that is the common case and the container is the wall;
 * there the flag is set by itself. Root outside a container has to say so, otherwise the start fails with the
 * browser's own message: running unsandboxed on a bare machine is a decision. Everybody else keeps the sandbox.
 */
export function needsNoSandbox({ uid, inContainer, told }: SandboxSigns): boolean {
  if (told !== undefined) return told;
  return uid === 0 && inContainer;
}

export function readSandboxSigns(told: boolean | undefined): SandboxSigns {
  return { uid: process.getuid?.(), inContainer: isInContainer(), told };
}

/** Docker and Podman leave a file, Kubernetes a variable, others a word in the groups of process 1. */
function isInContainer(): boolean {
  if (existsSync('/.dockerenv') || existsSync('/run/.containerenv')) return true;
  if (process.env.KUBERNETES_SERVICE_HOST || process.env.container) return true;
  try {
    return /docker|kubepods|containerd|libpod|lxc|garden|buildkit/.test(readFileSync('/proc/1/cgroup', 'utf8'));
  } catch {
    return false;
  }
}
