declare module 'gltf-validator' {
  interface ValidationOptions {
    uri?: string;
    format?: 'glb' | 'gltf';
    maxIssues?: number;
    writeTimestamp?: boolean;
    ignoredIssues?: string[];
    externalResourceFunction?: (uri: string) => Promise<Uint8Array>;
  }
  export function version(): string;
  export function validateBytes(data: Uint8Array, options?: ValidationOptions): Promise<object>;
  export function validateString(json: string, options?: ValidationOptions): Promise<object>;
}
