import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';

/** The part of an OpenAPI document that the check needs. */
export interface ApiDocument {
  readonly paths: Readonly<Record<string, Readonly<Record<string, Operation>>>>;
  readonly components: { readonly schemas: Readonly<Record<string, object>> };
}

interface Operation {
  readonly responses: Readonly<Record<string, { readonly content?: Readonly<Record<string, { schema: object }>> }>>;
}

/** An answer as it arrived; `body` is parsed JSON, or null for anything else. */
export interface GivenAnswer {
  readonly method: string;
  /** Path of the request, without the query. */
  readonly path: string;
  readonly status: number;
  readonly mediaType: string;
  readonly body: unknown;
}

/** Returns the fault of an answer by the served OpenAPI document; null if there is none. */
export type CheckAnswer = (answer: GivenAnswer) => string | null;

/**
 * Checks answers against the schema of their route, status and media type. Answers of calls that the document does not
 * describe may only be problems, or something other than JSON, such as the pages.
 */
export function makeAnswerCheck(document: ApiDocument): CheckAnswer {
  const ajv = new Ajv2020({ strict: false, allErrors: true, validateFormats: false });
  ajv.addSchema({ $id: 'api', components: document.components });
  const compiled = new Map<object, ValidateFunction>();
  const compile = (schema: object): ValidateFunction => {
    const known = compiled.get(schema);
    if (known) return known;
    const text = JSON.stringify(schema).replaceAll('"#/components/', '"api#/components/');
    const validate = ajv.compile(JSON.parse(text));
    compiled.set(schema, validate);
    return validate;
  };
  const routes = Object.entries(document.paths)
    .map(([template, operations]) => ({ pattern: toPattern(template), params: template.split('{').length, operations }))
    // a fixed segment takes precedence over a parameter, as in the router
    .sort((a, b) => a.params - b.params);

  return ({ method, path, status, mediaType, body }) => {
    const isJson = /json$/.test(mediaType);
    const operation = routes
      .filter(({ pattern }) => pattern.test(path))
      .map(({ operations }) => operations[method.toLowerCase()])
      .find((found) => found !== undefined);
    const responses = operation?.responses ?? {
      default: { content: { 'application/problem+json': { schema: document.components.schemas.Problem! } } },
    };
    if (!operation && !isJson) return null;
    const response = responses[status] ?? (status >= 400 ? responses.default : undefined);
    const at = `${method} ${path} answered ${status} ${mediaType}`;
    if (!response) return `${at}: the OpenAPI document does not describe this status`;
    if (!response.content) return body === null ? null : `${at}: the OpenAPI document describes no content`;
    const content = response.content[mediaType];
    if (!content) return `${at}: the OpenAPI document describes ${Object.keys(response.content).join(', ')}`;
    if (!isJson && mediaType !== 'text/event-stream') return null;
    const validate = compile(content.schema);
    if (validate(body)) return null;
    const errors = validate.errors!.slice(0, 8).map(({ instancePath, message, params }) => {
      const extra = 'additionalProperty' in params ? ` (“${params.additionalProperty}”)` : '';
      return `${instancePath || 'the answer'} ${message}${extra}`;
    });
    return `${at}, which its schema does not allow: ${errors.join('; ')}`;
  };
}

/** `/api/lines/{line}` as a pattern for paths. */
function toPattern(template: string): RegExp {
  const escaped = template.replace(/[.*+?^$()|[\]\\]/g, '\\$&');
  return new RegExp(`^${escaped.replace(/\{[^}]+\}/g, '[^/]+')}$`);
}
