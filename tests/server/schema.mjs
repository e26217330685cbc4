// schema.mjs – does a value fit a schema of the API's description? As much of JSON Schema as the
// description uses.
export function fits(value, schema, all, where = "$") {
  if (schema.$ref) return fits(value, all.components.schemas[schema.$ref.split("/").pop()], all, where);
  if (schema.oneOf) {
    const tries = schema.oneOf.map((one) => fits(value, one, all, where));
    return tries.some((errors) => errors.length === 0) ? [] : tries[0];
  }
  if (schema.enum && !schema.enum.includes(value)) return [`${where}: ${value} is none of ${schema.enum}`];
  const kind = value === null ? "null" : Array.isArray(value) ? "array"
    : Number.isInteger(value) ? "integer" : typeof value;
  const wanted = [schema.type ?? kind].flat();
  if (!wanted.includes(kind) && !(kind === "integer" && wanted.includes("number")))
    return [`${where}: ${kind} instead of ${wanted}`];
  const errors = [];
  if (kind === "array" && schema.items)
    value.forEach((item, n) => errors.push(...fits(item, schema.items, all, `${where}[${n}]`)));
  if (kind === "object") {
    for (const name of schema.required ?? [])
      if (!(name in value)) errors.push(`${where}.${name} is missing`);
    for (const [name, item] of Object.entries(value)) {
      if (schema.properties?.[name]) errors.push(...fits(item, schema.properties[name], all, `${where}.${name}`));
      else if (schema.additionalProperties === false) errors.push(`${where}.${name} is not described`);
    }
  }
  return errors;
}
