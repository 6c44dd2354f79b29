package serve

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
)

// ReadJSON reads the body of a request into dst. Unknown fields, a second value, another media type and a body beyond
// the limit are refused. On an error the answer has been given already.
func ReadJSON(w http.ResponseWriter, r *http.Request, dst any) error {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		return refuse(w, http.StatusUnsupportedMediaType, errors.New("the request has to be application/json"))
	}
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(dst); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return refuse(w, http.StatusRequestEntityTooLarge, fmt.Errorf("the request is larger than %d bytes", large.Limit))
		}
		return refuse(w, http.StatusBadRequest, fmt.Errorf("the request cannot be read: %w", err))
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return refuse(w, http.StatusBadRequest, errors.New("the request holds more than one value"))
	}
	return nil
}

func refuse(w http.ResponseWriter, status int, err error) error {
	WriteError(w, status, err)
	return err
}

// WriteJSON answers with a value. One that cannot be written as JSON is a programmer's error, answered with status 500.
func WriteJSON(w http.ResponseWriter, value any) {
	data, err := json.Marshal(value)
	if err != nil {
		WriteError(w, http.StatusInternalServerError, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Write(data) //nolint:errcheck // whoever asked has gone
}

// WriteError answers with a status and {"error": "..."}.
func WriteError(w http.ResponseWriter, status int, err error) {
	data, _ := json.Marshal(map[string]string{"error": err.Error()}) //nolint:errcheck // a map of strings
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(data) //nolint:errcheck // whoever asked has gone
}
