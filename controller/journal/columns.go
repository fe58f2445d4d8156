package journal

import (
	"database/sql"
	"fmt"
	"maps"
	"slices"
)

// A flipped bit in the text that the file has of a table gives one of its columns, or the
// table itself, another name: a sound structure in which nothing is found.

// checkColumns sees that a journal has the tables of its version, with their columns.
func checkColumns(db *sql.DB, path string) error {
	var version int
	if err := db.QueryRow("SELECT user_version FROM pragma_user_version").Scan(&version); err != nil {
		return wrap(path, err)
	}
	wanted := map[string]string{"run": "id,intent,result,hash", "sample": "id,batch", "event": "id,body"}
	for _, s := range shelves {
		if s.since <= version {
			wanted[s.table] = "id,about,body,hash"
		}
	}
	for _, table := range slices.Sorted(maps.Keys(wanted)) {
		var has string
		const question = "SELECT coalesce(group_concat(name), '') FROM (SELECT name FROM pragma_table_info(?) ORDER BY cid)"
		if err := db.QueryRow(question, table).Scan(&has); err != nil {
			return wrap(path, err)
		}
		if has != wanted[table] {
			return fmt.Errorf("%s: %w: its table %s has the columns %q and not %q", path, ErrDamaged, table, has, wanted[table])
		}
	}
	return nil
}
