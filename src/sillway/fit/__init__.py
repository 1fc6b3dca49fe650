"""Will this rider, in this chair, ride in this van?"""
