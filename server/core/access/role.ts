/**
 * What a person may do. Each role includes the ones before it: a viewer reads, an editor also changes, an approver also
 * decides and deletes finishes, an owner also manages people and deletes products and lines.
 */
export const ROLES = ['viewer', 'editor', 'approver', 'owner'] as const;
export type Role = (typeof ROLES)[number];

/** Roles that a person may have on single lines. People belong to no line, so ownership is always for all. */
export const LINE_ROLES = ['editor', 'approver'] as const;
export type LineRole = (typeof LINE_ROLES)[number];

/**
 * The rights of a caller: a role for everything, and higher roles on single lines and their products. Reading is never
 * limited to lines.
 */
export interface Grant {
  readonly role: Role;
  readonly lines: readonly LineGrant[];
}

export interface LineGrant {
  readonly line: string;
  readonly role: LineRole;
}

export const OWNER: Grant = { role: 'owner', lines: [] };

/** Whether a role includes another. */
export function includesRole(role: Role, needed: Role): boolean {
  return ROLES.indexOf(role) >= ROLES.indexOf(needed);
}

/** The lower of two roles. */
function lowerRole<R extends Role>(one: R, limit: Role): R | Role {
  return includesRole(limit, one) ? one : limit;
}

/** The role on a line, by its code; on null the role on what belongs to no line. */
export function roleOn(grant: Grant, line: string | null): Role {
  const own = line === null ? undefined : grant.lines.find((each) => each.line.toLowerCase() === line.toLowerCase());
  return own !== undefined && includesRole(own.role, grant.role) ? own.role : grant.role;
}

/** The part of a grant that a token with a scope has: never more than the person, never more than the scope. */
export function limitGrant(grant: Grant, scope: Role): Grant {
  return {
    role: lowerRole(grant.role, scope),
    lines: grant.lines.flatMap(({ line, role }) => {
      const limited = lowerRole(role, scope);
      return limited === 'viewer' || limited === 'owner' ? [] : [{ line, role: limited }];
    }),
  };
}
