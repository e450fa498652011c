// A part that is not of the expected shape is left as it is: the schema then says what is wrong with it.

export type Json = Readonly<Record<string, unknown>>;

const isObject = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** `change` made to `value` if it is an object. */
export const inObject = (value: unknown, change: (object: Json) => Json): unknown =>
  isObject(value) ? change(value) : value;

/** `change` made to each object of the list `value`. */
export const inList = (value: unknown, change: (object: Json) => Json): unknown =>
  Array.isArray(value) ? value.map((each) => inObject(each, change)) : value;

/** The object with the members that `changes` names changed, in the same order; what is not there stays away. */
export const withMembers = (object: Json, changes: Readonly<Record<string, (value: unknown) => unknown>>): Json =>
  Object.fromEntries(Object.entries(object).map(([key, value]) => [key, changes[key]?.(value) ?? value]));

/** A session with each chain of its mix and of its passes changed. */
export const chainsChanged = (session: Json, change: (chain: unknown) => unknown): Json => {
  const ofMember = (member: Json): Json => withMembers(member, { chain: change });
  const ofMembers = (members: unknown): unknown => inList(members, ofMember);
  const mix = {
    tracks: ofMembers,
    groups: ofMembers,
    buses: ofMembers,
    mixBus: (mixBus: unknown): unknown => inObject(mixBus, ofMember),
    rough: (rough: unknown): unknown => inObject(rough, ofMember),
  };
  return withMembers(session, { ...mix, passes: (passes) => inList(passes, (pass) => withMembers(pass, mix)) });
};
