package hal

import (
	"context"
	"time"
)

// Ventilation reads the contact of an airflow switch: closed proves that the air moves.
// Any error means not proven.
type Ventilation interface {
	Airflow(ctx context.Context) (proven bool, at time.Time, err error)
}
