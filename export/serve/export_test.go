package serve

import "net/http"

// ServePage answers with the page.
func (s *Server) ServePage(w http.ResponseWriter) { s.servePage(w) }
