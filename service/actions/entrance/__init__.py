"""Getting in: accounts, passwords, second factors and passkeys, a company's own provider."""
