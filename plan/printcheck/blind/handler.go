package blind

import (
	"bytes"
	"embed"
	"errors"
	"io/fs"
	"net/http"
	"strconv"
	"strings"
	"time"

	"foldout/plan/serve"
)

//go:embed page
var page embed.FS

// outlineParts is how many bars the drawing of the excerpts has.
const outlineParts = 400

// Handler is the test over HTTP:
//
//	GET  /                page
//	GET  /api/state       State
//	GET  /api/outline     peaks of the excerpts, to draw
//	POST /api/start       {"mode": "abx" or "preference", "trials": 16 or 25}
//	POST /api/answer      {"trial": n, "answer": 0 or 1}
//	POST /api/stop        {}
//	GET  /audio/NAME.wav  a, b; and with ?trial=n of the trial that is asked: x, or first and second
func (t *Test) Handler() http.Handler {
	files, err := fs.Sub(page, "page")
	if err != nil {
		panic(err) // the folder is built in
	}
	mux := http.NewServeMux()
	mux.Handle("/", serve.Assets(files))
	mux.HandleFunc("GET /api/state", func(w http.ResponseWriter, _ *http.Request) { serve.WriteJSON(w, t.State()) })
	outline := t.excerpts.outline(outlineParts)
	mux.HandleFunc("GET /api/outline", func(w http.ResponseWriter, _ *http.Request) { serve.WriteJSON(w, outline) })
	mux.HandleFunc("POST /api/start", func(w http.ResponseWriter, r *http.Request) {
		var q struct {
			Mode   string `json:"mode"`
			Trials int    `json:"trials"`
		}
		if serve.ReadJSON(w, r, &q) == nil {
			t.reply(w, t.Start(q.Mode, q.Trials))
		}
	})
	mux.HandleFunc("POST /api/answer", func(w http.ResponseWriter, r *http.Request) {
		var q struct {
			Trial  int  `json:"trial"`
			Answer *int `json:"answer"`
		}
		if serve.ReadJSON(w, r, &q) != nil {
			return
		}
		if q.Answer == nil {
			serve.WriteError(w, http.StatusBadRequest, errors.New("the answer is missing"))
			return
		}
		t.reply(w, t.Answer(q.Trial, *q.Answer))
	})
	mux.HandleFunc("POST /api/stop", func(w http.ResponseWriter, r *http.Request) {
		var q struct{}
		if serve.ReadJSON(w, r, &q) == nil {
			t.reply(w, t.Stop())
		}
	})
	mux.HandleFunc("GET /audio/{file}", t.audio)
	return mux
}

// reply answers with the state, or with what was wrong.
func (t *Test) reply(w http.ResponseWriter, err error) {
	switch {
	case err == nil:
		serve.WriteJSON(w, t.State())
	case errors.Is(err, ErrUnderWay), errors.Is(err, ErrNone), errors.Is(err, ErrTrial):
		serve.WriteError(w, http.StatusConflict, err)
	default:
		serve.WriteError(w, http.StatusBadRequest, err)
	}
}

// audio serves one sound. Its headers are the same whichever it is.
func (t *Test) audio(w http.ResponseWriter, r *http.Request) {
	name, ok := strings.CutSuffix(r.PathValue("file"), ".wav")
	trial := 0
	if q := r.URL.Query().Get("trial"); q != "" {
		n, err := strconv.Atoi(q)
		if err != nil || n < 1 {
			ok = false
		}
		trial = n
	}
	which, may := t.Playing(name, trial)
	if !ok || !may {
		http.Error(w, "This sound cannot be heard now.", http.StatusNotFound)
		return
	}
	data, err := t.excerpts.wav(which)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "audio/wav")
	http.ServeContent(w, r, "sound.wav", time.Time{}, bytes.NewReader(data))
}
